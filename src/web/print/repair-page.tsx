/** The account of one repair on one page: symptom, readings, suspects, finding, part replaced, proof. */

import { useRef } from 'react';
import type { MachineView } from '../../server/index.ts';
import { dayWords, shortDay } from '../dates.ts';
import { Link } from '../link.tsx';
import { api, useLive } from '../live.ts';
import { type Progress, progressOf, type RepairRow } from '../log/proof.ts';
import { byRepairs, type Repair } from '../log/repairs.ts';
import type { PageProps } from '../routes.tsx';
import { axisOf, volts } from '../strip/index.ts';
import { WithMachine } from '../with-machine.tsx';
import {
  CautionBox,
  type Format,
  HEIGHT_MM,
  Paper,
  PaperStrip,
  PaperSuspects,
  printedWords,
  rangeWords,
  useMeasured,
} from './paper.tsx';
import { Printing, useFormat } from './printing.tsx';

export default function RepairPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Account of a repair">
      {(machine) => (
        <Account machine={machine} key={query.get('repair')} wanted={query.get('repair') ?? ''} />
      )}
    </WithMachine>
  );
}

function Account({ machine, wanted }: { readonly machine: MachineView; readonly wanted: string }) {
  const [format, setFormat] = useFormat();
  const { value: log, problem } = useLive(api.machines[':id'].log, {
    param: { id: String(machine.id) },
    query: {},
  });
  const repair = log && byRepairs(log).repairs.find(({ key }) => key === wanted);
  return (
    <Printing machine={machine} title="Account of a repair" format={format} onFormat={setFormat}>
      {repair ? (
        <AccountPaper key={format} machine={machine} repair={repair} format={format} />
      ) : (
        <p className="prose">
          {problem?.message ?? (log ? 'This repair is not in the log. ' : 'Reading the log')}
          {log && <Link to={`/m/${machine.id}/log`}>All repairs</Link>}
        </p>
      )}
    </Printing>
  );
}

const ROW_MM = 7;
/** In the units it is drawn in; its column is narrower than a bench sheet's. */
const STRIP = { width: 215, height: 34 };
const STATES: Readonly<Record<Progress, string>> = {
  back: 'back',
  doubtful: 'doubtful',
  departs: 'off still',
  unread: 'not read again',
};

function AccountPaper({
  machine,
  repair: { unit, entries, closed, from },
  format,
}: {
  readonly machine: MachineView;
  readonly repair: Repair;
  readonly format: Format;
}) {
  const param = { id: String(machine.id) };
  const until = closed?.date ?? '';
  const { value } = useLive(api.machines[':id'].repair, {
    param,
    query: { unit, ...(from && { from }), ...(until && { until }) },
  });
  const suspects = useLive(
    api.machines[':id'].suspects,
    closed ? undefined : { param, query: { unit } },
  ).value;
  const box = useRef<HTMLDivElement>(null);
  const { all } = useMeasured(
    box,
    `${value?.revision} ${suspects?.revision} ${suspects?.table.state} ${entries.length}`,
  );
  const rows = value?.rows ?? [];
  const fits = Math.max(3, Math.floor((HEIGHT_MM[format] - all) / ROW_MM));
  // The furthest off are the ones to keep, in their order.
  const kept = new Set(
    [...rows].sort((a, b) => Math.abs(b.departed.off) - Math.abs(a.departed.off)).slice(0, fits),
  );
  const shown = rows.filter((row) => kept.has(row));
  const symptom = entries[0]!.entry;
  const boards = new Set(
    entries.flatMap(({ entry }) => entry.suspects.map((suspect) => suspect.split('/')[0]!)),
  );
  const cautions = machine.boards
    .filter(({ name, caution }) => caution && boards.has(name))
    .map(({ name, caution }) => `Board ${name}: ${caution}.`);
  return (
    <div ref={box}>
      <Paper
        format={format}
        title={`Account of a repair: ${unit}`}
        sheet={closed ? `closed ${closed.date ? dayWords(closed.date) : ''}` : 'open'}
        foot={[
          printedWords(value?.readings ?? 0),
          `machine description ${machine.mark}, entry ${symptom.id}`,
        ]}
      >
        <p className="account-machine" data-measure="">
          <b>{machine.name}.</b> {machine.summary}
        </p>
        <CautionBox own={cautions} changing />
        <dl className="account-entries" data-measure="">
          {entries.map(({ entry }) => (
            <div key={entry.id}>
              <dt>
                <b>{entry.kind === 'replaced' ? 'part replaced' : entry.kind}</b>
                {entry.date && <span>{shortDay(entry.date)}</span>}
              </dt>
              <dd>
                {entry.text}
                {entry.suspects.length > 0 && (
                  <span className="account-names">{entry.suspects.join(', ')}</span>
                )}
                {entry.note && <span className="account-names">{entry.note}</span>}
              </dd>
            </div>
          ))}
        </dl>
        {rows.length > 0 && (
          <section className="account-readings">
            <h3 data-measure="">
              Points that departed
              <span>
                {shown.length < rows.length ? `the ${shown.length} furthest off of ${rows.length}` : ''}
              </span>
            </h3>
            <table className="sheet-table account-table">
              <thead data-measure="">
                <tr>
                  <th scope="col">point</th>
                  <th scope="col">state</th>
                  <th scope="col">
                    <span className="aside">sound band, last reading</span>
                  </th>
                  <th scope="col">sound, V</th>
                  <th scope="col">was</th>
                  <th scope="col">now</th>
                  <th scope="col">
                    <span className="aside">proved</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {shown.map((row) => (
                  <AccountRow key={`${row.state} ${row.point}`} machine={machine} row={row} />
                ))}
              </tbody>
            </table>
          </section>
        )}
        {suspects?.table.state === 'ready' && (
          <div className="account-suspects" data-measure="">
            <h3>Suspects as things stand</h3>
            <PaperSuspects answer={suspects} most={3} />
          </div>
        )}
        <dl className="account-signs sheet-lines" data-measure="">
          <div>
            <dt>Repaired by</dt>
            <dd />
          </div>
          <div>
            <dt>Checked by</dt>
            <dd />
          </div>
        </dl>
      </Paper>
    </div>
  );
}

function AccountRow({ machine, row }: { readonly machine: MachineView; readonly row: RepairRow }) {
  const { state, point, sound, learnt, departed, now } = row;
  const family = machine.points.find((one) => one.point === point)?.family ?? 0;
  const progress = progressOf(row);
  return (
    <tr className="sheet-row">
      <th scope="row">{point}</th>
      <td>{state}</td>
      <td>
        <PaperStrip
          axis={axisOf(machine.families[family]!)}
          width={STRIP.width}
          height={STRIP.height}
          sound={sound}
          learnt={learnt}
          healthy={[]}
          reading={now.value}
        />
      </td>
      <td>{rangeWords(sound)}</td>
      <td>{volts(departed.value)}</td>
      <td>{progress === 'unread' ? '' : volts(now.value)}</td>
      <td>{STATES[progress]}</td>
    </tr>
  );
}
