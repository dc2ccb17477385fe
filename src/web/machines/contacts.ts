/** The contacts of a connector and the test points of a board, as a person lists them. */

export type Contacts =
  | { readonly ok: true; readonly pins: readonly string[] }
  | { readonly ok: false; readonly reason: string };

const MOST = 500;
const RANGE = /^(\d{1,3})-(\d{1,3})$/;
const LETTERS = /^([A-Z])-([A-Z])$/;
/** Contact 7, contact 12b, contact C. */
const CONTACT = /^(?:\d{1,3}[a-d]?|[A-Z])$/;

/**
 * `1-22`, `A-F`, or a list: a number or a letter is a contact on a net of its own, called BOARD.7; `3=STEP` is contact 3 on net
 * STEP; any other word is a net, on the contact after the last one. Of a contact that stands twice the one with a net counts.
 *
 * @param known  nets that are none of a contact, whatever they look like: the reference and the rails
 * @returns `3=STEP` for each contact, or which word is wrong and why
 */
export function contacts(text: string, board: string, known: ReadonlySet<string> = new Set()): Contacts {
  const netOf = new Map<string, string>();
  let last = 0;
  const put = (pin: string, net = `${board}.${pin}`) => {
    const named = net !== `${board}.${pin}`;
    if (named || !netOf.has(pin)) netOf.set(pin, net);
    if (/^\d+$/.test(pin)) last = Number(pin);
  };
  for (const word of words(text)) {
    if (known.has(word)) put(String(last + 1), word);
    else if (word.includes('=')) {
      const [pin, net, more] = word.split('=');
      if (!pin || !net || more !== undefined)
        return { ok: false, reason: `“${word}” is not contact=net, such as 3=STEP` };
      put(pin, net);
    } else if (RANGE.test(word) || LETTERS.test(word)) {
      const range = spread(word);
      if (range.length === 0) return { ok: false, reason: `“${word}” runs backwards` };
      for (const pin of range) put(pin);
    } else if (CONTACT.test(word)) put(word);
    else put(String(last + 1), word);
    if (netOf.size > MOST) return { ok: false, reason: `more than ${MOST} contacts` };
  }
  return { ok: true, pins: [...netOf].map(([pin, net]) => `${pin}=${net}`) };
}

/** Words between spaces, commas or semicolons. */
export function words(text: string): string[] {
  return text.split(/[\s,;]+/).filter((word) => word !== '');
}

function spread(word: string): string[] {
  const [from, to] = word.split('-') as [string, string];
  const lettered = LETTERS.test(word);
  const [first, end] = lettered ? [from.charCodeAt(0), to.charCodeAt(0)] : [Number(from), Number(to)];
  return Array.from({ length: Math.max(0, end - first + 1) }, (_, i) =>
    lettered ? String.fromCharCode(first + i) : String(first + i),
  );
}
