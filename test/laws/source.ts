/**
 * Just enough of TypeScript's lexical grammar to tell code from comments and strings, so that a law does not
 * trip over a word in prose and sees type imports, which a bundler has already dropped.
 */

/** A source with its comments and the contents of its strings blanked; every character keeps its position. */
export interface Scanned {
  readonly code: string;
  /** Contents of each string without an escape or substitution, by the position of its opening quote. */
  readonly strings: ReadonlyMap<number, string>;
}

const REGEX_MAY_FOLLOW =
  /(?:^|[(,=:[!&|?{};+\-*%<>~^]|\b(?:return|typeof|case|in|of|void|throw|new|await|yield))\s*$/;

export function scan(text: string): Scanned {
  const code = text.split('');
  const strings = new Map<number, string>();
  /** Depth of braces inside each template substitution we are in, innermost last. */
  const substitutions: number[] = [];
  const blank = (from: number, to: number) => {
    for (let i = from; i < to; i++) if (code[i] !== '\n') code[i] = ' ';
  };
  let at = 0;
  /** End of a template's literal part that starts at `from`: past the closing quote or past `${`. */
  const template = (from: number): number => {
    let i = from;
    while (i < text.length && text[i] !== '`' && !text.startsWith('${', i)) i += text[i] === '\\' ? 2 : 1;
    blank(from, Math.min(i, text.length));
    if (text[i] === '$') {
      substitutions.push(0);
      return i + 2;
    }
    return i + 1;
  };
  while (at < text.length) {
    const c = text[at];
    if (text.startsWith('//', at)) {
      const end = ends(text, '\n', at);
      blank(at, end);
      at = end;
    } else if (text.startsWith('/*', at)) {
      const end = Math.min(ends(text, '*/', at + 2) + 2, text.length);
      blank(at, end);
      at = end;
    } else if (c === "'" || c === '"') {
      let i = at + 1;
      // A quote that the line does not close is an apostrophe in markup.
      while (i < text.length && text[i] !== c && text[i] !== '\n') i += text[i] === '\\' ? 2 : 1;
      strings.set(at, text.slice(at + 1, i));
      blank(at + 1, i);
      at = i + 1;
    } else if (c === '`') {
      at = template(at + 1);
    } else if (c === '/' && REGEX_MAY_FOLLOW.test(code.slice(Math.max(0, at - 40), at).join(''))) {
      const end = regexEnd(text, at);
      blank(at + 1, end - 1);
      at = end;
    } else {
      if (substitutions.length > 0 && c === '{') substitutions[substitutions.length - 1]! += 1;
      if (substitutions.length > 0 && c === '}') {
        if (substitutions.at(-1) === 0) {
          substitutions.pop();
          at = template(at + 1);
          continue;
        }
        substitutions[substitutions.length - 1]! -= 1;
      }
      at += 1;
    }
  }
  return { code: code.join(''), strings };
}

function ends(text: string, mark: string, from: number): number {
  const i = text.indexOf(mark, from);
  return i < 0 ? text.length : i;
}

/** Position after the closing slash; the slash itself where the line ends before one (then it was a division). */
function regexEnd(text: string, start: number): number {
  let inClass = false;
  for (let i = start + 1; i < text.length && text[i] !== '\n'; i++) {
    if (text[i] === '\\') i += 1;
    else if (text[i] === '[') inClass = true;
    else if (text[i] === ']') inClass = false;
    else if (text[i] === '/' && !inClass) return i + 1;
  }
  return start + 1;
}

export interface Import {
  /** As written: `../machine/index.ts`, `node:fs`, `commander`. */
  readonly from: string;
  /** `import type` and `export type`: gone when the program runs. */
  readonly typeOnly: boolean;
  readonly position: number;
}

const IMPORT =
  /\b(?:import|export)\s+(type\s+(?!from\b)|)[^'";]*?\bfrom\s*(?=['"])|\bimport\s*(?=['"])|\b(?:import|require)\s*\(\s*(?=['"])/g;

/** Every module that a source names: static, re-exported, dynamic and in types. */
export function imports(text: string): readonly Import[] {
  const { code, strings } = scan(text);
  return [...code.matchAll(IMPORT)].flatMap((match) => {
    const from = strings.get(match.index + match[0].length);
    return from === undefined ? [] : [{ from, typeOnly: Boolean(match[1]), position: match.index }];
  });
}
