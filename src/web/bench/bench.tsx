/** The bench at work: what is asked for, what is typed, what it means; and the keys, with both hands at the probes. */

import { useEffect, useMemo, useRef, useState } from 'react';
import { flushSync } from 'react-dom';
import type { BenchRow, MachineView } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys, writes } from '../keys.ts';
import type { KeyWords } from '../keys-dialog.tsx';
import { outdateMachine } from '../live.ts';
import { changeSettings, useSettings } from '../settings.ts';
import { axisOf, type StripInput } from '../strip/index.ts';
import { useAnswers, useBenchView, useHistory } from './answers.ts';
import { useAsked } from './asked.ts';
import { BenchButtons } from './bench-buttons.tsx';
import { Blocked } from './blocked.tsx';
import { Legend, type Move, StateChoice } from './choices.tsx';
import { Column, ringNames, rowInput } from './column.tsx';
import { entryOf, isWritten, plain, turned } from './entry.ts';
import { Field } from './field.tsx';
import { Gate, MainButton } from './gate.tsx';
import { Head } from './head.tsx';
import { FEW } from './lines.ts';
import { meterSigma } from './meter.ts';
import { askingOrder, lettered, orderMarks } from './order.ts';
import { blankRows, itemsOf } from './rows.ts';
import { Side } from './side.tsx';
import { hush, speak, spokenPoint } from './speech.ts';
import { useTaking } from './taking.ts';
import { usePreview } from './timing.ts';
import { VerdictLine } from './verdict.tsx';
import { useVisit } from './visit.ts';
import './bench.css';

export interface BenchProps {
  readonly machine: MachineView;
  readonly unit: string;
  readonly against: string | undefined;
  /** That the machine is in; undefined until somebody has said so. */
  readonly state: string | undefined;
  /** Where a link from another page leads: the point in the head, and the fault whose levels are shown. */
  readonly begin: { readonly point?: string | undefined; readonly fault?: string | undefined };
  readonly onMove: (change: Move) => void;
}

/** The head of the page says so already. */
const CUT_OFF: ReadonlySet<string> = new Set(['unreachable', 'no-key']);
const NO_ROWS: readonly BenchRow[] = [];

export function Bench({ machine, unit, against, state: settled, begin, onMove }: BenchProps) {
  const id = String(machine.id);
  const [visit, change] = useVisit(`${id}/${unit}`);
  const [text, setText] = useState('');
  const [twin, setTwin] = useState(false);
  const [lens, setLens] = useState(false);
  /** Chosen by hand, a state shows its steps until a reading is taken in it, so that both units are brought into the same one. */
  const [stepsShown, setStepsShown] = useState(false);
  const [opened, setOpened] = useState<string>();
  const [fault, setFault] = useState(begin.fault ?? '');
  const [board, setBoard] = useState<string>();
  const field = useRef<HTMLInputElement>(null);
  const side = useRef<HTMLDivElement>(null);
  const { speech, footKey } = useSettings();
  const taking = useTaking(machine.id);

  const answers = useAnswers({ machine, unit, against, settled, fault });
  const { state, known, bench, ranking, whatIf, healthy } = answers;
  const answer = ranking.value;
  const rows = bench.value?.rows ?? NO_ROWS;
  const axes = useMemo(() => machine.families.map(axisOf), [machine]);
  const next = answer?.next ?? [];
  const netOf = (name: string) => machine.points.find((one) => one.point === name)?.net ?? name;
  const typing = text !== '';
  const asked = useAsked({ machine, state, rows, answer, visit, begin: begin.point, typing });
  const { target, blocked } = asked;
  const point = target?.point.point;
  const elsewhere = useBenchView(machine, unit, against, target?.change ? target.state : undefined);
  const sheet = target?.change ? elsewhere.value : bench.value;
  const row = sheet?.rows.find((one) => one.point === point);
  const readFor = twin ? (healthy[0] ?? unit) : unit;
  const gated = target?.point.gated === true && !visit.confirmed.has(target.point.point);
  const waits = target !== undefined && (target.change || settled === undefined);

  const entry = entryOf(text);
  const typed = entry.kind === 'value' ? entry.volts : undefined;
  const preview = usePreview(
    id,
    typed === undefined || twin || !target || waits || blocked
      ? undefined
      : { unit, state: target.state, point: target.point.point, value: String(typed) },
    taking.busy,
  );

  // Letters go by the first ranking that readings made, and later ones to whoever is new among the first.
  const keys = answer === undefined ? [] : lettered(answer.suspects, FEW * 3);
  const keyList = keys.join('\n');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the list of keys says when it has changed
  useEffect(() => {
    if (keys.length > 0) change({ kind: 'ranked', keys });
  }, [keyList]);

  const history = useHistory(machine, unit, target && { state: target.state, point: target.point.point });

  const spoken = target && `${target.state} ${target.point.point} ${gated}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: it is said when the point changes, and not again
  useEffect(() => {
    if (speech && target) speak(aloud());
    return hush;
  }, [spoken, speech]);

  function aloud(): string {
    const where = spokenPoint(target!.point.point);
    const caution = target!.point.caution;
    return [waits ? `Change to ${target!.state}` : where, caution && `Caution. ${caution}`]
      .filter(Boolean)
      .join('. ');
  }

  useEffect(() => {
    // The field has the focus on this page, unless a person is about something else.
    if (
      !gated &&
      !waits &&
      !writes(document.activeElement) &&
      document.querySelector('dialog[open]') === null
    ) {
      if (matchMedia('(pointer: fine)').matches) field.current?.focus();
    }
  }, [gated, waits]);

  const write = (to: string) => {
    setText(to);
    asked.hold(to !== '');
    if (taking.said !== '') taking.say('');
  };
  const moveOn = () => {
    asked.moveOn();
    setText('');
  };

  const enter = async () => {
    if (!target || taking.busy) return;
    if (waits) {
      onMove({ state: target.state });
      taking.say(`The machine is in ${target.state}.`);
      return;
    }
    if (blocked) return;
    if (gated) {
      change({ kind: 'confirmed', point: target.point.point });
      return;
    }
    if (entry.kind === 'empty') {
      asked.nextBest();
      return;
    }
    if (entry.kind !== 'value') {
      taking.say(entry.kind === 'wrong' ? `${entry.reason}.` : 'A sign is not a value yet.');
      return;
    }
    const where = target.point.point;
    const kept = await taking.take({ unit: readFor, state: target.state, point: where, text: plain(text) });
    if (!kept) return;
    // At once, so that nothing more is asked about the value that was typed before the ranking is.
    flushSync(() => {
      change({ kind: 'taken', reading: kept.reading, unit: readFor, point: where });
      setTwin(false);
      setStepsShown(false);
      setText('');
      asked.took(kept.revision, where);
    });
    outdateMachine(machine.id, kept.revision);
    field.current?.focus();
  };

  const back = async () => {
    const last = visit.taken.at(-1);
    if (!last) {
      taking.say('Nothing was taken in this visit.');
      return;
    }
    if (await taking.withdraw(last.reading, last.point)) {
      change({ kind: 'withdrawn', reading: last.reading });
      asked.tookBack(last.point);
    }
  };

  const soon = bench.value === undefined;
  const items = useMemo(() => {
    const shown = soon ? blankRows(machine.points) : rows;
    return itemsOf(machine.points, shown, target?.point.family ?? 0, board);
  }, [machine.points, rows, soon, target?.point.family, board]);
  const choose = (to: string) => {
    if (taking.stuck) return;
    write('');
    asked.choose(to);
    if (matchMedia('(pointer: fine)').matches) field.current?.focus();
  };
  const byArrow = (way: 1 | -1) => {
    if (text !== '') return false;
    const points = items.flatMap((item) => (item.kind === 'row' ? [item.point.point] : []));
    const at = points.indexOf(point ?? '');
    const to = points[at < 0 ? 0 : at + way];
    if (to !== undefined) choose(to);
    return true;
  };
  // Under a value that is typed the state stays, too.
  const toState = (to: string) => {
    if (text !== '') return;
    setStepsShown(true);
    asked.stayInState();
    onMove({ state: to });
  };
  const byState = (way: 1 | -1) => {
    if (text !== '') return false;
    const names = machine.states.map(({ name }) => name);
    const to = names[names.indexOf(state) + way];
    if (to !== undefined) toState(to);
    return true;
  };
  const why = () => {
    const first = answer?.suspects.slice(0, FEW).map(({ key }) => key) ?? [];
    const at = Math.max(0, first.indexOf(opened ?? ''));
    if (first.length > 0) setOpened(first[(at + 1) % first.length]);
    side.current?.querySelector('.why')?.scrollIntoView({ block: 'nearest' });
  };
  const cannotReach = () => {
    if (!point || text !== '' || blocked) return;
    change({ kind: 'unreachable', point });
    taking.say(
      visit.unreachable.has(point)
        ? `${point} can be reached again.`
        : `${point} cannot be reached now; it is asked last.`,
    );
    moveOn();
  };
  const toTwin = () => {
    if (healthy.length === 0) taking.say('There is no healthy unit to read.');
    else if (!taking.stuck) setTwin(!twin);
  };
  const clear = () => {
    if (taking.stuck) taking.letGo();
    write('');
    taking.say('');
  };
  const home = () => {
    if (!taking.stuck) {
      asked.home();
      setText('');
    }
    if (speech && target) speak(aloud());
  };

  const backspace = (event: KeyboardEvent) => {
    if (text !== '') return false;
    // A key held down takes back one reading, not one after the other.
    if (!event.repeat) void back();
    return true;
  };
  const up = () => byArrow(-1);
  const down = () => byArrow(1);
  const before = () => byState(-1);
  const after = () => byState(1);
  const toLens = () => setLens(!lens);
  const toSpeech = () => changeSettings({ speech: !speech });
  const enterOnce = (event: KeyboardEvent) => {
    if (!event.repeat) void enter();
  };
  useKeys({
    Enter: enterOnce,
    [footKey]: enterOnce,
    Escape: clear,
    Backspace: backspace,
    ArrowUp: up,
    ArrowDown: down,
    ArrowLeft: before,
    ArrowRight: after,
    Home: home,
    t: toTwin,
    x: cannotReach,
    y: why,
    l: toLens,
    s: toSpeech,
  });
  useEffect(() => {
    // A digit typed anywhere on the page belongs to the field.
    const press = (event: KeyboardEvent) => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
      if (!isWritten(event.key) || writes(event.target) || event.target === field.current) return;
      if (document.querySelector('dialog[open]') === null) field.current?.focus();
    };
    window.addEventListener('keydown', press);
    return () => window.removeEventListener('keydown', press);
  }, []);

  if (!target || !point || !known) {
    return (
      <Frame title="Bench" machine={{ id, name: machine.name }}>
        <p className="label page-body">Asking what to read next</p>
      </Frame>
    );
  }

  const read = row ? rowInput(row, healthy, undefined) : {};
  const rings = row ? ringNames(row, healthy) : [];
  const input: StripInput = {
    ...read,
    ...(typed === undefined ? {} : twin ? { healthy: [typed] } : { reading: typed, setAside: false }),
    meter: meterSigma(machine, row?.reading?.instrument, typed ?? row?.reading?.value),
    history,
  };
  const wanted = next.find((one) => one.point === point && one.state === target.state);
  const flags = [
    ...(wanted?.shows ?? []).flatMap(({ key, value }) => {
      const letter = visit.letters.get(key);
      const ranked = answer?.suspects.findIndex((one) => one.key === key) ?? -1;
      return letter && ranked >= 0 && ranked < FEW ? [{ letter, value }] : [];
    }),
    ...(whatIf.value && fault !== ''
      ? whatIf.value.rows
          .filter((one) => one.point === point && one.state === target.state)
          .map((one) => ({ letter: '?', value: one.fault.value }))
      : []),
  ];
  const pointers =
    whatIf.value && fault !== ''
      ? new Map(
          whatIf.value.rows.filter((one) => one.state === state).map((one) => [one.point, one.fault.value]),
        )
      : undefined;
  const marks = orderMarks(askingOrder(next, visit.unreachable, netOf), state);
  const readHere = rows.filter(({ reading }) => reading !== null).length;
  const stale = [bench.problem, ranking.problem].find((one) => one && !CUT_OFF.has(one.code));
  const goTo = (where: string, to: string) => {
    if (taking.stuck) return;
    if (where !== state) onMove({ state: where });
    choose(to);
  };
  const mainWords = waits
    ? 'Done'
    : gated
      ? 'Read and understood'
      : entry.kind === 'empty'
        ? 'Next point'
        : 'Take it';

  const keysHere: readonly KeyWords[] = [
    { caps: ['Enter'], does: 'take it', foot: true, press: enter },
    { caps: ['Back'], does: 'take back', foot: true, press: back },
    { caps: ['Up', 'Down'], does: 'point', foot: true },
    { caps: ['Left', 'Right'], does: 'state', foot: true },
    { caps: ['T'], does: 'read the twin', foot: true, press: toTwin },
    { caps: ['X'], does: 'cannot reach', foot: true, press: cannotReach },
    { caps: ['Y'], does: 'why', foot: true, press: why },
    { caps: ['L'], does: 'lens: a scale of its own for the wanted point', press: toLens },
    { caps: ['S'], does: 'speak the next point, on or off', press: toSpeech },
    { caps: ['Esc'], does: 'clear the field' },
    { caps: ['Home'], does: 'back to the wanted point; says it again when speech is on', press: home },
    { caps: [footKey], does: 'foot switch: as Enter; with an empty field, the next best point' },
  ];

  return (
    <Frame
      title={`${point}, ${machine.name}`}
      className="bench-frame"
      machine={{ id, name: machine.name }}
      keys={keysHere}
      legend={
        <Legend
          machine={machine}
          unit={unit}
          against={against}
          board={board}
          healthy={healthy}
          onMove={onMove}
          onBoard={setBoard}
        />
      }
      end={
        stale && soon
          ? 'no levels'
          : soon
            ? 'reckoning'
            : `${readHere} of ${rows.length} points read in this state`
      }
    >
      <div className="bench">
        <div className="bench-main">
          <Head
            machine={machine}
            point={target.point}
            state={target.state}
            change={waits}
            label={blocked ? 'Taken; asking for the next' : target.label}
            row={row}
            input={input}
            flags={flags}
            axis={axes[target.point.family]!}
            unit={unit}
            healthy={twin && typed !== undefined ? [readFor] : rings}
            lens={lens}
            empty={sheet?.noPoint != null}
            soon={sheet === undefined && stale === undefined}
            gated={gated && !waits}
            stateChoice={
              <StateChoice names={machine.states.map(({ name }) => name)} state={state} onState={toState} />
            }
            stepsShown={stepsShown}
            onSteps={() => setStepsShown(!stepsShown)}
            field={
              waits ? (
                <MainButton onPress={enter}>Done: it is in this state</MainButton>
              ) : gated ? (
                <Gate text={target.point.caution} onConfirm={enter} />
              ) : (
                <>
                  <Field
                    ref={field}
                    text={text}
                    unit={readFor}
                    twin={twin}
                    stuck={taking.stuck}
                    wrong={entry.kind === 'wrong'}
                    onText={write}
                  />
                  <button type="button" className="button sign-button" onClick={() => write(turned(text))}>
                    <span className="aside">Change the </span>±<span className="aside"> sign</span>
                  </button>
                  <button type="button" className="button main take-button" onClick={enter}>
                    {mainWords}
                  </button>
                </>
              )
            }
            verdict={
              <VerdictLine
                input={twin ? {} : input}
                typed={typed !== undefined}
                said={taking.stuck ? '' : taking.said}
                wrong={entry.kind === 'wrong' ? entry.reason : ''}
                waits={waits}
              />
            }
          />
          {taking.stuck && (
            <p className="refusal" role="alert">
              {taking.said}
            </p>
          )}
          {stale && <Blocked machine={machine} problem={stale} />}
          {bench.value?.stateLost && (
            <p className="label">
              A sound circuit does not hold this state as its hints name it; the bands are of the state it
              falls into.
            </p>
          )}
          <Column
            items={items}
            axes={axes}
            unit={unit}
            healthy={healthy}
            wanted={waits ? undefined : point}
            marks={marks}
            pointers={pointers}
            empty={bench.value?.noPoint != null}
            soon={soon}
            onChoose={choose}
          />
        </div>
        <Side
          ref={side}
          machine={machine}
          answers={answers}
          axes={axes}
          typed={twin ? undefined : typed}
          preview={preview}
          letters={visit.letters}
          opened={opened}
          fault={fault}
          onOpen={setOpened}
          onFault={setFault}
          onPoint={goTo}
        />
        <BenchButtons
          main={mainWords}
          unit={unit}
          twin={twin}
          onMain={enter}
          onWhy={why}
          onCannotReach={cannotReach}
          onTwin={toTwin}
          onBack={() => void back()}
        />
      </div>
    </Frame>
  );
}
