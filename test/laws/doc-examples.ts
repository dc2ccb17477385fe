/** Law: a document that shows a machine folder, file by file in blocks that bear the file's name, shows a sound one. */

import { MACHINE_FILES } from '../../src/machine/index.ts';
import type { TextFile } from './files.ts';

/** A block is opened by three backticks, a language and the file's name: what a reader would put into that file. */
const BLOCK = /^```\w+ (\S+)\n([\s\S]*?)^```$/gm;

/** The folder that a document shows, its files by name as bytes; empty when it shows none. */
export function shownFolder({ text }: Pick<TextFile, 'text'>): Map<string, Uint8Array> {
  const blocks = [...text.matchAll(BLOCK)].filter(([, name]) => MACHINE_FILES.includes(name!));
  return new Map(blocks.map(([, name, content]) => [name!, new TextEncoder().encode(content)]));
}

/** What is called in a document's indented and inline code: the command and its options. */
export function shownCalls({ text }: Pick<TextFile, 'text'>): { command: string; options: string[] }[] {
  const calls = text.matchAll(
    /(?:^ {4}(?:> )?|`)(?:node bin\/)?sisterboard(?:\.js)? ([a-z][\w-]*)([^\n`]*)/gm,
  );
  return [...calls].map(([, command, rest]) => ({
    command: command!,
    options: [...rest!.matchAll(/--[a-z-]+/g)].map(([option]) => option),
  }));
}
