/**
 * Captures as oscilloscopes, sound cards and logic analysers export them, read into traces: text tables, WAV and value-change
 * files, in pieces as they come. Measures nothing, and opens no file: bytes are handed in.
 */
export type { LogicTrace, Trace } from '../waveform/index.ts';
