/** Where a text stops being JSON, and what belongs there. Lines and columns count from 1. */
export interface JsonFault {
  readonly line: number;
  readonly column: number;
  readonly wanted: string;
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const WORD = /true|false|null/y;
// biome-ignore lint/suspicious/noControlCharactersInRegex: JSON forbids them in a string
const STRING = /"[^"\\\u0000-\u001f]*(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\u0000-\u001f]*)*"/y;
const SPACE = /[ \t\r\n]*/y;
/** Deeper nesting is not a machine; the place is then where the limit was met. */
const DEEPEST = 200;

/**
 * The place of the first fault in a text that `JSON.parse` refuses. The engines' own messages differ, and some name no
 * place. Source of the grammar: RFC 8259.
 */
export function jsonFault(text: string): JsonFault {
  let at = text.startsWith('\uFEFF') ? 1 : 0;
  const match = (pattern: RegExp): boolean => {
    pattern.lastIndex = at;
    const found = pattern.exec(text);
    if (found !== null) at = pattern.lastIndex;
    return found !== null;
  };
  const sign = (expected: string): boolean => {
    match(SPACE);
    if (text[at] !== expected) return false;
    at++;
    return true;
  };

  /** Passes over one value; what is wanted where it fails. */
  const value = (depth: number): string | undefined => {
    if (depth > DEEPEST) return `nothing nested more than ${DEEPEST} deep`;
    if (sign('{')) {
      if (sign('}')) return undefined;
      do {
        match(SPACE);
        if (!match(STRING)) return 'the name of a field in double quotes';
        if (!sign(':')) return 'a colon';
        const wanted = value(depth + 1);
        if (wanted !== undefined) return wanted;
      } while (sign(','));
      return sign('}') ? undefined : 'a comma or }';
    }
    if (sign('[')) {
      if (sign(']')) return undefined;
      do {
        const wanted = value(depth + 1);
        if (wanted !== undefined) return wanted;
      } while (sign(','));
      return sign(']') ? undefined : 'a comma or ]';
    }
    if (match(STRING) || match(NUMBER) || match(WORD)) return undefined;
    return text[at] === '"' ? 'a text that ends with a quotation mark on its line' : 'a value';
  };

  const wanted = value(0) ?? 'nothing more';
  match(SPACE);
  const before = text.slice(0, at);
  return { line: before.split('\n').length, column: at - before.lastIndexOf('\n'), wanted };
}
