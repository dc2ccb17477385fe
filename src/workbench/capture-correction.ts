import { columnTitle, type TextUnderstanding, type UnitWord } from '../capture/index.ts';
import { suggestion } from '../machine/index.ts';
import { InputError } from '../records/index.ts';

/** What is corrected of one channel. */
export interface ChannelCorrection {
  /** By how much the probe divided what the file holds. */
  readonly probe?: number;
  /** Added to each value, in the channel's unit. */
  readonly offset?: number;
  /** What the numbers of its column are in; of the column of times, too. */
  readonly unit?: UnitWord;
}

/**
 * An understanding with what a person corrected laid over it.
 *
 * @param channels  by name, or by number from 1; the column of times by its name
 * @throws InputError  `unknown-channel`, with those that there are
 */
export function corrected(
  file: string,
  understanding: TextUnderstanding,
  channels: ReadonlyMap<string, ChannelCorrection>,
): TextUnderstanding {
  const columns = [...understanding.columns];
  const places = columns.flatMap(({ role }, i) => (role === 'channel' ? [i] : []));
  const time = columns.findIndex(({ role }) => role === 'time');
  for (const [name, { probe, offset, unit }] of channels) {
    const isTime = time >= 0 && columnTitle(columns[time]!, time) === name && unit !== undefined;
    const place = isTime
      ? time
      : places[
          channelNamed(
            file,
            places.map((i) => columnTitle(columns[i]!, i)),
            name,
          )
        ]!;
    columns[place] = {
      ...columns[place]!,
      ...(probe === undefined ? {} : { probe }),
      ...(offset === undefined ? {} : { offset }),
      ...(unit === undefined ? {} : unit),
    };
  }
  return { ...understanding, columns };
}

/**
 * The place of a channel, from 0, by its name or its number from 1.
 *
 * @param names  of all channels
 * @throws InputError  `unknown-channel`
 */
export function channelNamed(file: string, names: readonly string[], name: string): number {
  const exact = names.indexOf(name);
  if (exact >= 0) return exact;
  const place = names.findIndex((one) => one.toLowerCase() === name.toLowerCase());
  if (place >= 0) return place;
  const number = /^\d{1,5}$/.test(name) ? Number(name) : 0;
  if (number >= 1 && number <= names.length) return number - 1;
  const all = names.map((one) => JSON.stringify(one)).join(', ');
  throw new InputError(
    'unknown-channel',
    `${file} has no channel ${JSON.stringify(name)}; channels: ${all}${suggestion(name, names)}`,
  );
}
