/**
 * Law: what a document shows is so. A machine folder, file by file in blocks that bear the file's name, is a sound one; commands
 * are called as they are; a constant has the value that the code gives it.
 */

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

/** Constants that a document states with their values, `NAME = value`, and that no pure source sets so. */
export function otherwiseInTheCode({ text }: Pick<TextFile, 'text'>, sources: readonly TextFile[]): string[] {
  const code = sources.filter(({ path }) => /^src\/.*\.ts$/.test(path) && !path.includes('.test.'));
  const all = code.map((source) => source.text.replace(/\s+/g, ' ')).join('\n');
  const stated = [...text.matchAll(/`([A-Z]{3}[A-Z_0-9]* = [\d{][^`]*)`/g)].map(
    ([, statement]) => statement!,
  );
  return stated.filter(
    (statement) => !all.includes(`const ${statement};`) && !all.includes(`const ${statement} as const;`),
  );
}
