/** The board at work: which side and whose photograph, what is chosen, what is placed; and the keys. */

import { type CSSProperties, useEffect, useMemo, useRef, useState } from 'react';
import type { BenchRow, MachineView, PhotographView } from '../../server/index.ts';
import { askingOrder } from '../bench/order.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import type { KeyWords } from '../keys-dialog.tsx';
import { api, outdateMachine, told, useLive } from '../live.ts';
import { address, go } from '../router.ts';
import { BoardHead, BoardLegend } from './board-head.tsx';
import { drawnBoard } from './drawing.ts';
import { DrawnBoard } from './drawn-board.tsx';
import { listedMarks, marksAfter, shortOf } from './listed-marks.ts';
import { type ListKind, MarkList } from './mark-list.tsx';
import { drawnPlaces, marksOf, partsOf, placementsFor, placesOf } from './marks.ts';
import {
  changePhotograph,
  photographAddress,
  removePhotograph,
  sendPhotograph,
  useAspect,
} from './photographs.tsx';
import { Picture, type PictureMark, pictureArea } from './picture.tsx';
import { PictureButtons } from './picture-buttons.tsx';
import { useBoxSize } from './size.ts';
import {
  fieldName,
  gridOf,
  inPicture,
  inSight,
  moved,
  onScreen,
  type Place,
  pictureBox,
  settled,
  shownAspect,
  shownPlace,
  takenPlace,
  type View,
  WHOLE,
  zoomed,
} from './view.ts';

export interface BoardProps {
  readonly machine: MachineView;
  readonly board: MachineView['boards'][number];
  readonly query: URLSearchParams;
}

/** The side of a placement that was made on the drawing. */
const DRAWN = 'drawing';
const SIDES: Readonly<Record<string, string>> = { component: 'parts side', copper: 'copper side' };
/** Arrows wait so long before what they moved is kept, so that a way of many steps is one change. */
const KEPT_AFTER = 500;
const STEP = 12;
const NO_ROWS: readonly BenchRow[] = [];
const NONE: ReadonlySet<string> = new Set();

export function Board({ machine, board, query }: BoardProps) {
  const id = String(machine.id);
  const param = { id };
  const { value: sheet } = useLive(api.machines[':id'].sheets[':sheet'], { param: { id, sheet: 'parts' } });
  const { value: photographs } = useLive(api.machines[':id'].photographs, { param });
  const { value: placements } = useLive(api.machines[':id'].placements, { param });
  const unit = machine.units.find((one) => one.id === query.get('unit'))?.id ?? usualUnit(machine);
  const ranking = useLive(
    api.machines[':id'].suspects,
    unit === undefined ? undefined : { param, query: { unit } },
  );
  const next = ranking.value?.next ?? [];
  const known = new Set(machine.states.map(({ name }) => name));
  const [begun, setBegun] = useState<string>();
  const answered = unit === undefined || ranking.value !== undefined || ranking.problem !== undefined;
  const wantedState = query.get('state') ?? begun ?? (answered ? next[0]?.state : undefined) ?? '';
  const state = known.has(wantedState) ? wantedState : answered ? machine.states[0]?.name : undefined;
  const bench = useLive(
    api.machines[':id'].bench,
    unit === undefined || state === undefined ? undefined : { param, query: { unit, state } },
  );
  const rows = bench.value?.rows ?? NO_ROWS;
  const byPoint = useMemo(() => new Map(rows.map((row) => [row.point, row])), [rows]);

  const [side, setSide] = useState(query.get('side') ?? 'component');
  const [asDrawing, setAsDrawing] = useState(false);
  const [twin, setTwin] = useState(false);
  const [view, setView] = useState<View>(WHOLE);
  const [list, setList] = useState<ListKind>('parting');
  const [byHand, setByHand] = useState(query.get('point') ?? undefined);
  const ranked = ranking.value?.table.state === 'ready';
  useEffect(() => {
    // What was proposed on arrival stays, once it comes from a ranking or somebody is at work with it.
    if (state !== undefined && (ranked || byHand !== undefined)) setBegun((before) => before ?? state);
  }, [state, ranked, byHand]);
  const [placing, setPlacing] = useState(false);
  const [moving, setMoving] = useState<{ readonly mark: string; readonly at: Place }>();
  const [said, say] = useState('');
  const svg = useRef<SVGSVGElement>(null);
  const box = useRef<HTMLDivElement>(null);
  const { width, height } = useBoxSize(box);
  const line = useRef<Promise<void>>(Promise.resolve());
  const lastKept = useRef<PhotographView>(undefined);

  const ofBoard = photographs?.filter((one) => one.board === board.name && one.size > 0) ?? [];
  const sides = [...new Set(['component', 'copper', ...ofBoard.map((one) => one.side)])].filter(
    (one) => one !== '',
  );
  const ofSide = ofBoard.filter((one) => one.side === side);
  const own = ofSide.findLast((one) => one.unit === unit) ?? ofSide.findLast((one) => one.unit === '');
  const other = ofSide.findLast((one) => one.unit !== unit && one.unit !== '');
  const shown: PhotographView | undefined = asDrawing ? undefined : twin ? (other ?? own) : (own ?? other);
  const source = shown && photographAddress(id, shown);
  const picture = useAspect(source);

  const parts = useMemo(() => partsOf(board.name, sheet), [board.name, sheet]);
  const drawing = useMemo(() => drawnBoard(parts), [parts]);
  const onDrawing = shown === undefined;
  const aspect = onDrawing ? drawing.width / drawing.height : (picture.aspect ?? 1.5);
  const laying = onDrawing
    ? { turn: 0, mirrored: side === 'copper' }
    : { turn: shown.turn, mirrored: shown.mirrored };
  const seenAspect = shownAspect(aspect, laying);
  const area = pictureArea(width, height);
  const placeSide = onDrawing ? DRAWN : side;
  // What is placed on a photograph of one unit is placed for that unit.
  const placeUnit = shown?.unit ?? '';

  const marks = useMemo(() => marksOf(machine, board.name, parts), [machine, board.name, parts]);
  const serving = useMemo(() => {
    const here = (placements ?? []).filter((one) => one.board === board.name && one.side === placeSide);
    const found = moving
      ? [
          ...here.filter(({ mark, unit: of }) => mark !== moving.mark || of !== placeUnit),
          { board: board.name, side: placeSide, unit: placeUnit, mark: moving.mark, ...moving.at },
        ]
      : here;
    return placementsFor(found, placeUnit);
  }, [placements, board.name, placeSide, placeUnit, moving]);
  const places = useMemo(() => {
    const drawn = onDrawing ? drawnPlaces(drawing, board.name) : undefined;
    return placesOf(marks, serving, parts, board.name, drawn);
  }, [serving, board.name, onDrawing, drawing, marks, parts]);

  const orders = new Map<string, number>();
  const netOf = (name: string) => machine.points.find(({ point }) => point === name)?.net ?? name;
  for (const [i, one] of askingOrder(next, NONE, netOf).slice(0, 3).entries())
    if (one.state === state) orders.set(one.point, i + 1);
  const points = marks.filter(({ kind }) => kind === 'points');
  const wanted =
    next.find((one) => one.state === state && points.some(({ name }) => name === one.point))?.point ??
    points.find(({ name }) => byPoint.get(name)?.reading == null)?.name ??
    points[0]?.name;
  const listed = useMemo(
    () => listedMarks(marks, list, byPoint, wanted, orders),
    [marks, list, byPoint, wanted, orders],
  );
  const chosen = marks.some(({ name }) => name === byHand) ? byHand : wanted;
  const chosenMark = marks.find(({ name }) => name === chosen);
  const chosenAt = chosen === undefined ? undefined : places.get(chosen);
  const grid = gridOf(seenAspect);
  const fieldOf = (name: string): string | undefined => {
    const at = places.get(name);
    return at && fieldName(shownPlace(at, laying), grid);
  };

  const toView = (change: (now: View) => View) => setView((now) => settled(change(now), area, seenAspect));
  const choose = (name: string) => {
    setByHand(name);
    const at = places.get(name);
    if (at) setView((now) => inSight(now, shownPlace(at, laying), area, seenAspect));
  };

  const keep = async (mark: string, at: Place): Promise<boolean> => {
    const where = { board: board.name, side: placeSide, unit: placeUnit, mark };
    const json = { ...where, x: rounded(at.x), y: rounded(at.y) };
    const outcome = await told(api.machines[':id'].placements.$put({ param, json }));
    outdateMachine(id);
    if (!outcome.ok) say(`Not kept: ${outcome.problem.message}`);
    return outcome.ok;
  };
  const later = useRef<ReturnType<typeof setTimeout>>(undefined);
  const pending = useRef<{ readonly mark: string; readonly at: Place; keep(): void }>(undefined);
  const keepNow = () => {
    clearTimeout(later.current);
    const one = pending.current;
    pending.current = undefined;
    one?.keep();
  };
  // What arrows have moved is kept, too, when one leaves the page at once.
  // biome-ignore lint/correctness/useExhaustiveDependencies: at the end only
  useEffect(() => keepNow, []);
  useEffect(() => {
    // Once the record has it, it is no longer on its way.
    if (placements && pending.current === undefined) setMoving(undefined);
  }, [placements]);

  const place = (mark: string, at: Place, done: boolean) => {
    setMoving({ mark, at });
    if (!done) return;
    const was = places.get(mark)?.exact === true;
    void keep(mark, at);
    const after = marksAfter(listed, mark).find(({ name }) => !places.get(name)?.exact);
    const field = fieldName(shownPlace(at, laying), grid);
    say(`${shortOf(marks, mark)} is at ${field}.${after && !was ? ` Now ${after.short}.` : ''}`);
    setByHand(after && !was ? after.name : mark);
  };
  const nudge = (x: number, y: number, far: boolean) => {
    if (chosen === undefined) return;
    const from = pending.current?.mark === chosen ? pending.current.at : chosenAt;
    const picture0 = pictureBox(area, seenAspect, view);
    const step = far ? 10 : 1;
    // A mark without a place begins in the middle of what is seen.
    const start = from
      ? onScreen(shownPlace(from, laying), picture0)
      : { x: area.left + area.width / 2, y: area.top + area.height / 2 };
    const to = takenPlace(inPicture({ x: start.x + x * step, y: start.y + y * step }, picture0), laying);
    const at = { x: Math.min(1, Math.max(0, to.x)), y: Math.min(1, Math.max(0, to.y)) };
    setMoving({ mark: chosen, at });
    if (pending.current && pending.current.mark !== chosen) keepNow();
    pending.current = { mark: chosen, at, keep: () => void keep(chosen, at) };
    clearTimeout(later.current);
    later.current = setTimeout(keepNow, KEPT_AFTER);
    say(`${shortOf(marks, chosen)} is at ${fieldName(shownPlace(at, laying), grid)}.`);
  };
  const unplace = async () => {
    if (chosen === undefined) return;
    const outcome = await told(
      api.machines[':id'].placements.$delete({
        param,
        query: {
          board: board.name,
          side: placeSide,
          unit: serving.find(({ mark }) => mark === chosen)?.unit ?? placeUnit,
          mark: chosen,
        },
      }),
    );
    outdateMachine(id);
    setMoving(undefined);
    say(outcome.ok ? `${shortOf(marks, chosen)} is not placed any more.` : outcome.problem.message);
  };

  const arrow = (x: number, y: number) => (event: KeyboardEvent) => {
    const inPictureNow = document.activeElement === svg.current;
    if (placing) nudge(x, y, event.shiftKey);
    else if (inPictureNow && view.scale > 1)
      toView((now) => moved(now, { x: -x * STEP * 5, y: -y * STEP * 5 }, area, seenAspect));
    else if (y !== 0) step(y > 0 ? 1 : -1);
    else return false;
    return true;
  };
  const step = (way: 1 | -1) => {
    const at = listed.findIndex(({ name }) => name === chosen);
    const to = listed[at < 0 ? 0 : Math.min(listed.length - 1, Math.max(0, at + way))];
    if (to) choose(to.name);
  };
  const middle = { x: area.left + area.width / 2, y: area.top + area.height / 2 };
  const nearTo = chosenAt
    ? onScreen(shownPlace(chosenAt, laying), pictureBox(area, seenAspect, view))
    : middle;
  const nearer = () => setView((now) => zoomed(now, 1.4, nearTo, area, seenAspect));
  const wider = () => setView((now) => zoomed(now, 1 / 1.4, middle, area, seenAspect));
  const whole = () => setView(WHOLE);
  const toSide = (to: string) => {
    setSide(to);
    setTwin(false);
    setView(WHOLE);
  };
  const otherSide = () => toSide(sides[(sides.indexOf(side) + 1) % sides.length]!);
  const toTwin = () => {
    if (own && other) setTwin(!twin);
    else say('There is no photograph of the twin’s board from this side.');
  };
  const toDrawing = () => {
    if (ofSide.length === 0) say('This side has no photograph; the drawing is shown.');
    else setAsDrawing(!asDrawing);
    setView(WHOLE);
  };
  /** Turns and mirrors go out one after the other, each on what the last one left. */
  const relay = (change: (now: PhotographView) => Parameters<typeof changePhotograph>[2]) => {
    if (!shown) return;
    line.current = line.current.then(async () => {
      const last = lastKept.current;
      const now = last?.id === shown.id && last.version > shown.version ? last : shown;
      const outcome = await changePhotograph(id, now, change(now));
      if (outcome.ok) lastKept.current = outcome.value;
      else say(`Not kept: ${outcome.problem.message}`);
    });
  };
  const turn = () => {
    setView(WHOLE);
    relay((now) => ({ turn: ((now.turn + 90) % 360) as 0 | 90 | 180 | 270 }));
  };
  const mirror = () => relay((now) => ({ mirrored: !now.mirrored }));
  const add = async (file: File) => {
    say('Sending the photograph');
    const refused = await sendPhotograph(id, file, { board: board.name, side, unit: unit ?? '' });
    say(refused === undefined ? 'The photograph is kept.' : `Not kept: ${refused}`);
    setAsDrawing(false);
  };
  const remove = async () => {
    if (!shown) return;
    const problem = await removePhotograph(id, shown);
    say(problem ? `Not removed: ${problem.message}` : 'The photograph is removed. Undo brings it back.');
  };
  const toPlacing = () => {
    keepNow();
    setPlacing(!placing);
    if (!placing) {
      setList(list === 'parting' ? 'points' : list);
      svg.current?.focus();
    }
  };
  const toBench = () => {
    const point = chosenMark?.kind === 'points' ? chosenMark.name : undefined;
    go(address(`/m/${encodeURIComponent(id)}/bench`, { unit, state, point }));
  };
  const move = (change: { unit?: string; state?: string; board?: string }) => {
    const to = { unit, state, side, ...change };
    const path = `/m/${encodeURIComponent(id)}/board/${encodeURIComponent(change.board ?? board.name)}`;
    go(address(path, { unit: to.unit, state: to.state, side: to.side }), {
      replace: change.board === undefined,
    });
  };

  const takeAway = () => (placing ? void unplace() : false);
  const leave = () => (placing ? toPlacing() : false);
  const read = () => (placing ? false : toBench());
  const home = () => wanted !== undefined && choose(wanted);
  useKeys({
    ArrowUp: arrow(0, -1),
    ArrowDown: arrow(0, 1),
    ArrowLeft: arrow(-1, 0),
    ArrowRight: arrow(1, 0),
    '+': nearer,
    '=': nearer,
    '-': wider,
    '0': whole,
    o: otherSide,
    t: toTwin,
    d: toDrawing,
    r: turn,
    m: mirror,
    p: toPlacing,
    Delete: takeAway,
    Escape: leave,
    Enter: read,
    Home: home,
  });
  const keys: readonly KeyWords[] = [
    { caps: ['Up', 'Down'], does: 'another point', foot: true },
    { caps: ['O'], does: 'other side', foot: true, press: otherSide },
    { caps: ['T'], does: 'the twin’s photograph', foot: true, press: toTwin },
    { caps: ['+', '−'], does: 'closer, wider', foot: true, press: nearer },
    { caps: ['P'], does: placing ? 'placing is done' : 'place marks', foot: true, press: toPlacing },
    { caps: ['Enter'], does: 'read it', foot: true, press: toBench },
    { caps: ['arrows'], does: 'while placing: move the mark, with Shift further; else the picture' },
    { caps: ['Delete'], does: 'while placing: the mark is not placed any more' },
    { caps: ['R'], does: 'turn the photograph by a quarter', press: turn },
    { caps: ['M'], does: 'mirror the photograph', press: mirror },
    { caps: ['D'], does: 'photograph or drawing', press: toDrawing },
    { caps: ['0'], does: 'the whole board', press: whole },
    { caps: ['Home'], does: 'to the point that is wanted' },
  ];

  const drawnMarks: PictureMark[] = marks.flatMap((mark) => {
    const at = places.get(mark.name);
    // Looking shows points, placing what is being placed; the chosen mark always.
    const kind = placing ? (list === 'parting' ? 'points' : list) : 'points';
    if (!at || (mark.kind !== kind && mark.name !== chosen)) return [];
    const row = byPoint.get(mark.name);
    return [
      {
        name: mark.name,
        short: mark.short,
        at,
        exact: at.exact,
        reading: row?.reading?.value ?? null,
        sound: row?.sound ?? null,
        verdict: row?.reading?.setAside ? null : (row?.verdict ?? null),
        off: Math.abs(row?.off ?? 0),
        order: mark.name === wanted ? undefined : orders.get(mark.name),
      },
    ];
  });
  const sideWords = SIDES[side] ?? `${side} side`;
  const pictureWords = onDrawing
    ? 'drawn from the parts list'
    : `photograph${shown.unit ? ` of ${shown.unit}` : ''}${shown.takenAt ? `, ${shown.takenAt.slice(0, 10)}` : ''}`;
  const borrowed = serving.some((one) => one.borrowed);

  return (
    <Frame
      title={`Board ${board.name}, ${machine.name}`}
      className="board-frame"
      machine={{ id, name: machine.name }}
      legend={
        <BoardLegend
          machine={machine}
          board={board.name}
          unit={unit}
          side={side}
          sides={sides.map((one) => [one, SIDES[one] ?? one] as const)}
          onMove={move}
          onSide={toSide}
        />
      }
      keys={keys}
      end={pictureWords}
    >
      <div className="board">
        <section className="board-picture" aria-label={`Board ${board.name}, ${sideWords}`}>
          <div className="picture-box" ref={box} style={{ '--aspect': seenAspect } as CSSProperties}>
            {width > 0 && sheet && (onDrawing || picture.aspect !== undefined) && (
              <Picture
                element={svg}
                width={width}
                height={height}
                aspect={aspect}
                laying={laying}
                photograph={source}
                drawn={
                  <g transform={`scale(${1 / drawing.width} ${1 / drawing.height})`}>
                    <DrawnBoard drawing={drawing} mirrored={laying.mirrored} />
                  </g>
                }
                view={view}
                marks={drawnMarks}
                chosen={chosen}
                placing={placing}
                label={`Board ${board.name}, ${sideWords}, ${pictureWords}. ${drawnMarks.length} points are marked; the list beside it says where.`}
                onView={toView}
                onChoose={choose}
                onPlace={place}
              />
            )}
            {picture.broken && <p className="refusal">The photograph cannot be shown: {shown?.file}</p>}
          </div>
          <PictureButtons
            unit={unit}
            whole={view.scale === 1}
            placing={placing}
            photograph={shown}
            photographs={ofSide.length}
            hasTwin={own !== undefined && other !== undefined}
            twin={twin}
            asDrawing={asDrawing}
            onNearer={nearer}
            onWider={wider}
            onPlacing={toPlacing}
            onTurn={turn}
            onMirror={mirror}
            onTwin={toTwin}
            onDrawing={toDrawing}
            onFile={(file) => void add(file)}
            onRemove={() => void remove()}
          />
        </section>
        <div className="board-side">
          <BoardHead
            machine={machine}
            board={board}
            mark={chosenMark}
            label={
              chosen === wanted && chosenMark?.kind === 'points'
                ? next.length > 0
                  ? 'Touch next'
                  : 'Begin with'
                : 'Chosen'
            }
            field={chosen === undefined ? undefined : fieldOf(chosen)}
            exact={chosenAt?.exact ?? false}
            state={state}
            placing={placing}
            said={said}
            onState={(to) => move({ state: to })}
            onRead={toBench}
            onUnplace={() => void unplace()}
          />
          {unit !== undefined && !bench.value && !bench.problem && (
            <p className="label">Reckoning the levels</p>
          )}
          {bench.problem && <p className="refusal">No levels: {bench.problem.message}</p>}
          {borrowed && (
            <p className="label">
              What stands in brackets was placed on another unit’s photograph, and not on this one yet.
            </p>
          )}
          <MarkList
            machine={machine}
            unit={unit}
            list={list}
            marks={listed}
            chosen={chosen}
            rows={byPoint}
            orders={orders}
            fieldOf={(name) => ({ field: fieldOf(name), exact: places.get(name)?.exact ?? false })}
            onList={setList}
            onChoose={choose}
          />
        </div>
      </div>
    </Frame>
  );
}

function usualUnit({ units }: MachineView): string | undefined {
  return (
    units.find(({ health }) => health === 'faulty') ??
    units.find(({ health }) => health !== 'healthy') ??
    units[0]
  )?.id;
}

/** Finer than a pixel of any photograph. */
function rounded(share: number): number {
  return Math.round(share * 1e5) / 1e5;
}
