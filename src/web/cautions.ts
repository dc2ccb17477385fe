/** The usual cautions of the trade, wherever a person is sent to a machine. Common practice, no source. */

/** Before a probe or a hand goes in. */
export const AT_THE_MACHINE =
  'Mains and charged capacitors can kill: switch off and plug out, discharge through a resistor, measure, then touch. ' +
  'High voltage and mains wiring only if you are qualified for them. One hand, no ring, somebody in the building. ' +
  'Power off before a board is fitted or pulled. Scope ground clips are earth.';

/** Where a part is changed. */
export const CHANGING_PARTS =
  'Tubes implode: goggles. Old parts may hold asbestos, PCBs, cadmium, selenium or mercury: leave them closed, wear ' +
  'gloves, dispose of them by local rules.';

/** What all of this is worth. */
export const ONLY_ADVICE = 'This only advises: local codes and a qualified person decide.';
