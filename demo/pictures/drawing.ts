import { zlibSync } from 'fflate';

/** What a board and what is on it looks like, as red, green and blue; a drawing holds numbers of this list. */
const PAINTS = {
  bench: [0x2d, 0x31, 0x33],
  laminate: [0xc4, 0x9a, 0x62],
  lacquer: [0x4f, 0x74, 0x58],
  rim: [0x7d, 0x5c, 0x34],
  pad: [0xdd, 0xdc, 0xd4],
  hole: [0x33, 0x2c, 0x26],
  carbon: [0x6b, 0x4a, 0x33],
  glass: [0x33, 0x3a, 0x3c],
  can: [0xb3, 0xb8, 0xba],
  shade: [0x7e, 0x84, 0x87],
  sleeve: [0x3d, 0x57, 0x70],
  bulb: [0xe9, 0xe2, 0xc4],
  gold: [0xd9, 0xb5, 0x53],
  ink: [0x20, 0x1a, 0x14],
  print: [0xf5, 0xf1, 0xe4],
} as const;
export type Paint = keyof typeof PAINTS;
const NUMBERS = new Map(Object.keys(PAINTS).map((name, i) => [name, i]));

/** Letters of 3 by 5 dots, a row of three after the other, from the top. */
const LETTERS = new Map(
  [
    'A 25755 B 65656 C 34443 D 65556 E 74647 F 74644 G 34553 H 55755 I 72227 J 11152 K 55655 L 44447 M 57555',
    'N 57755 O 25552 P 65644 Q 25563 R 65655 S 34216 T 72222 U 55557 V 55552 W 55775 X 55255 Y 55222 Z 71247',
    '0 75557 1 26227 2 71747 3 71717 4 55711 5 74717 6 74757 7 71122 8 75757 9 75717',
    '+ 02720 - 00700 / 11244 . 00002 , 00024',
  ]
    .flatMap((line) => line.match(/\S \d{5}/g)!)
    .map((entry) => [entry[0]!, [...entry.slice(2)].map(Number)]),
);

/** A drawing of plain shapes, all measures in its dots from the upper left corner. */
export class Drawing {
  readonly width: number;
  readonly height: number;
  readonly #dots: Uint8Array;

  constructor(width: number, height: number, ground: Paint) {
    this.width = width;
    this.height = height;
    this.#dots = new Uint8Array(width * height).fill(NUMBERS.get(ground)!);
  }

  rectangle(x: number, y: number, width: number, height: number, paint: Paint): void {
    const [left, right] = [Math.max(0, Math.round(x)), Math.min(this.width, Math.round(x + width))];
    const [top, bottom] = [Math.max(0, Math.round(y)), Math.min(this.height, Math.round(y + height))];
    for (let row = top; row < bottom; row++)
      this.#dots.fill(NUMBERS.get(paint)!, row * this.width + left, row * this.width + right);
  }

  disc(x: number, y: number, radius: number, paint: Paint): void {
    for (let dy = -radius; dy <= radius; dy++) {
      const half = Math.sqrt(radius * radius - dy * dy);
      this.rectangle(x - half, y + dy, 2 * half, 1, paint);
    }
  }

  /** A word in capitals around a middle. */
  word(x: number, y: number, text: string, size: number, paint: Paint): void {
    const advance = 4 * size;
    const left = x - (text.length * advance - size) / 2;
    [...text.toUpperCase()].forEach((letter, i) => {
      LETTERS.get(letter)?.forEach((bits, row) => {
        for (let column = 0; column < 3; column++)
          if (bits & (4 >> column))
            this.rectangle(
              Math.round(left + i * advance) + column * size,
              Math.round(y - 2.5 * size) + row * size,
              size,
              size,
              paint,
            );
      });
    });
  }

  /**
   * The drawing as a PNG file of 16 colours.
   *
   * @source Portable Network Graphics, W3C Recommendation: signature, IHDR, PLTE, IDAT and IEND, each with its CRC-32
   */
  png(): Uint8Array {
    const stride = Math.ceil(this.width / 2);
    // Every row begins with its filter: none.
    const rows = new Uint8Array(this.height * (stride + 1));
    for (let y = 0; y < this.height; y++)
      for (let x = 0; x < this.width; x++)
        rows[y * (stride + 1) + 1 + (x >> 1)]! |= this.#dots[y * this.width + x]! << (x & 1 ? 0 : 4);
    const head = new Uint8Array(13);
    const view = new DataView(head.buffer);
    view.setUint32(0, this.width);
    view.setUint32(4, this.height);
    // Four bits a dot, each the number of a colour.
    head.set([4, 3, 0, 0, 0], 8);
    return joined([
      Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a),
      chunk('IHDR', head),
      chunk('PLTE', Uint8Array.from(Object.values(PAINTS).flat())),
      // Not the platform's own zlib: its versions give other bytes.
      chunk('IDAT', zlibSync(rows, { level: 9 })),
      chunk('IEND', new Uint8Array()),
    ]);
  }
}

function chunk(name: string, data: Uint8Array): Uint8Array {
  const body = joined([new TextEncoder().encode(name), data]);
  return joined([bigEndian(data.length), body, bigEndian(crc32(body))]);
}

function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return ~crc >>> 0;
}

function bigEndian(number: number): Uint8Array {
  const bytes = new Uint8Array(4);
  new DataView(bytes.buffer).setUint32(0, number);
  return bytes;
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
