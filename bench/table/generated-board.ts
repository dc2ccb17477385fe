/** Machines of any size to measure on: flip-flops and gates of saturated logic, seeded, with states that are hinted. */
import { type Machine, readMachine } from '../../src/machine/index.ts';

/**
 * A chain of blocks of ten transistors: two flip-flops, whose halves are inverters that feed each other, and six NOR gates with inputs
 * from flip-flops and gates near by.
 *
 * @param states  conditions, each with all flip-flops hinted at random
 */
export function generatedBoard(transistors: number, states: number, seed: number): Machine {
  let state = seed;
  const random = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const rows = ['board,ref,kind,type,value,tolerance,pins,note'];
  let count = 0;
  const part = (
    board: number,
    ref: string,
    kind: string,
    type: string,
    value: string,
    pins: string,
  ): void => {
    rows.push(`B${board},${ref}${count},${kind},${type},${value},10,${pins},`);
  };
  /** A NOR gate of diodes and an inverter with a catching diode. */
  const gate = (out: string, inputs: readonly string[]): void => {
    count++;
    const board = Math.floor(count / 40);
    const [sum, base] = [`S${out}`, `b${out}`];
    for (const [k, input] of inputs.entries())
      part(board, `D${'abc'[k]}`, 'diode', 'GE-DIODE', '', `a=${sum} k=${input}`);
    part(board, 'Ra', 'resistor', '', '10k', `1=${sum} 2=-12V`);
    part(board, 'Rb', 'resistor', '', '4k7', `1=${sum} 2=${base}`);
    part(board, 'Rc', 'resistor', '', '47k', `1=${base} 2=+6V`);
    part(board, 'Rd', 'resistor', '', '1k5', `1=${out} 2=-12V`);
    part(board, 'Q', 'transistor', '2N1305', '', `e=0V b=${base} c=${out}`);
    part(board, 'Dk', 'diode', 'GE-DIODE', '', `a=-6V k=${out}`);
  };
  const pairs: string[] = [];
  const outputs: string[] = [];
  const near = (): string => outputs[Math.max(0, outputs.length - 1 - Math.floor(12 * random()))]!;
  const blocks = Math.max(1, Math.round(transistors / 10));
  for (let block = 0; block < blocks; block++) {
    for (const name of [`F${2 * block}`, `F${2 * block + 1}`]) {
      pairs.push(name);
      for (const [own, other] of [
        ['p', 'n'],
        ['n', 'p'],
      ]) {
        count++;
        const board = Math.floor(count / 40);
        const out = `${name}${own}`;
        part(board, 'Ra', 'resistor', '', '10k', `1=${name}${other} 2=b${out}`);
        part(board, 'Rc', 'resistor', '', '47k', `1=b${out} 2=+6V`);
        part(board, 'Rd', 'resistor', '', '1k5', `1=${out} 2=-12V`);
        part(board, 'C', 'capacitor', '', '330p', `1=${name}${other} 2=b${out}`);
        part(board, 'Q', 'transistor', '2N1305', '', `e=0V b=b${out} c=${out}`);
        part(board, 'Dk', 'diode', 'GE-DIODE', '', `a=-6V k=${out}`);
        outputs.push(out);
      }
    }
    for (let k = 0; k < 6; k++) {
      const inputs = new Set([near(), near()]);
      const out = `G${block}_${k}`;
      gate(out, [...inputs]);
      outputs.push(out);
    }
  }
  const conditions = ['condition,net,role,volts,ohms'];
  for (let s = 0; s < states; s++)
    for (const name of pairs) {
      const on = random() < 0.5;
      conditions.push(`state ${s},${name}p,hint,${on ? -0.1 : -6.2},`);
      conditions.push(`state ${s},${name}n,hint,${on ? -6.2 : -0.1},`);
    }
  const json = {
    format: 1,
    name: `generated, ${transistors} transistors`,
    summary: '',
    reference: '0V',
    ambient: 22,
    rails: ['-12V', '-6V', '+6V'].map((net) => ({ net, volts: Number.parseFloat(net), tolerance: 5 })),
    units: [{ id: 'one', health: 'healthy' }],
    instruments: [],
  };
  const texts = {
    'machine.json': JSON.stringify(json),
    'parts.csv': `${rows.join('\n')}\n`,
    'conditions.csv': `${conditions.join('\n')}\n`,
  };
  const files = new Map(Object.entries(texts).map(([file, text]) => [file, new TextEncoder().encode(text)]));
  const { machine, findings } = readMachine(files);
  const error = findings.find(({ severity }) => severity === 'error');
  if (!machine || error) throw new Error(`the generated board is not sound: ${error?.message}`);
  return machine;
}
