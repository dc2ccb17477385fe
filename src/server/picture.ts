const SIGNATURES: readonly (readonly [type: string, at: number, bytes: readonly number[]])[] = [
  ['image/png', 0, [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]],
  ['image/jpeg', 0, [0xff, 0xd8, 0xff]],
  // RIFF, four bytes of length, WEBP
  ['image/webp', 8, [0x57, 0x45, 0x42, 0x50]],
];
const RIFF = [0x52, 0x49, 0x46, 0x46];

/**
 * The media type of a picture by its first bytes, whatever its name says; `undefined` for all that a photograph is not, such as SVG,
 * which can hold a program.
 *
 * @source WHATWG MIME Sniffing Standard, 6.1 (signatures from memory)
 */
export function pictureType(bytes: Uint8Array): string | undefined {
  const stands = (at: number, wanted: readonly number[]): boolean =>
    wanted.every((byte, i) => bytes[at + i] === byte);
  const type = SIGNATURES.find(([, at, wanted]) => stands(at, wanted))?.[0];
  return type === 'image/webp' && !stands(0, RIFF) ? undefined : type;
}
