// The table of units and days. There may be hundreds of rows: a row is drawn again only when something in it has changed, the
// browser neither lays out nor paints those out of sight, and what is pressed or pointed at is heard by the table as a whole.
import { Component, Fragment, type ComponentChildren } from 'preact';
import { useEffect, useMemo, useState } from 'preact/hooks';
import { linkTo, unitName, unitZone, useApp, type App } from './app';
import { bestWindow } from './days';
import { moveInGrid } from './parts';
import { Sign } from './signs';
import { dateText, hoursText, leadText } from './time';
import type { AllDays, UnitDay } from './types';
import { plural, verdictWord, words } from './words';

// What stands against the day, or what its window hangs on, in one sentence.
export function reasonOf(app: App, day: UnitDay): string {
  const parts: string[] = [];
  if (day.blocked_by.length) parts.push(`blocked: ${day.blocked_by.map((b) => b.why).join('; ')}`);
  parts.push(day.why);
  if (day.limiting)
    parts.push(
      `limited by ${app.catalogue.title(day.limiting.quantity).toLowerCase()} ${app.catalogue.measure(day.limiting.quantity, day.limiting.value)}` +
        (day.limiting.limit ? `, needs ${app.catalogue.bounds(day.limiting.quantity, day.limiting.limit)}` : ''),
    );
  return parts.join(' · ');
}

// What a cell says below its verdict.
function linesOf(app: App, day: UnitDay, marks: string): string[] {
  const lines: string[] = [];
  const best = bestWindow(day);
  if (day.verdict === 'blocked') lines.push(day.blocked_by.map((b) => words(b.kind).toLowerCase()).join(', '));
  else if (day.verdict === 'out') lines.push(...(day.tail?.verdict === 'out' ? ['tail out'] : []));
  else if (best) lines.push(hoursText(best.start, best.end, unitZone(app, day.unit)) + (best.unconfirmed ? ' ?' : ''));
  return marks ? [...lines, marks] : lines;
}

// A cell's name begins with what stands in it, and goes on with what a look at the table's edges tells.
function nameOf(app: App, day: UnitDay, lines: string[]): string {
  return `${[verdictWord(day.verdict), ...lines].join(' ')}, ${unitName(app, day.unit)}, ${dateText(day.date)}. ${
    bestWindow(day)?.unconfirmed ? 'Unconfirmed window. ' : ''
  }${reasonOf(app, day)}`;
}

// What is drawn again only when one of its properties is another.
abstract class Steady<P extends object> extends Component<P> {
  override shouldComponentUpdate(next: P): boolean {
    return (Object.keys(next) as (keyof P)[]).some((key) => next[key] !== this.props[key as keyof typeof this.props]);
  }
}

interface CellProps {
  app: App;
  day: UnitDay | undefined;
  column: number;
  marks: string;
  isChosen: boolean;
  isOpened: boolean;
}

class Cell extends Steady<CellProps> {
  override render({ app, day, column, marks, isChosen, isOpened }: CellProps) {
    if (!day) return <td role="gridcell" class={isChosen ? 'chosen' : ''} />;
    const lines = linesOf(app, day, marks);
    return (
      <td role="gridcell" class={`is-${day.verdict}${isChosen ? ' chosen' : ''}`}>
        <button
          type="button"
          data-cell={`${day.unit}/${day.date}`}
          data-column={column}
          tabIndex={-1}
          aria-label={nameOf(app, day, lines)}
          aria-expanded={isOpened}
        >
          <span class="what">
            <Sign verdict={day.verdict} /> {verdictWord(day.verdict)}
          </span>{' '}
          {lines.map((line, i) => (
            <small key={line} class={marks && i === lines.length - 1 ? 'mark' : ''}>
              {line}{' '}
            </small>
          ))}
        </button>
      </td>
    );
  }
}

export type Marks = Map<string, string>; // by date

interface RowProps {
  app: App;
  unit: string;
  days: (UnitDay | undefined)[]; // by column
  marks: Marks | undefined;
  chosen: string; // date
  opened: string; // date, or nothing
}

class UnitRow extends Steady<RowProps> {
  override render({ app, unit, days, marks, chosen, opened }: RowProps) {
    const properties = app.units.get(unit)?.properties;
    return (
      <tr role="row">
        <th scope="row" role="rowheader">
          <a href={linkTo('unit', unit, { day: chosen })} data-column={0} tabIndex={-1}>
            {unitName(app, unit)}
          </a>
          <small>
            {properties?.area_ha} ha · {plural(properties?.needs?.crews ?? 1, 'crew')}
          </small>
        </th>
        {days.map((day, i) => (
          <Cell
            key={i}
            app={app}
            day={day}
            column={i + 1}
            marks={(day && marks?.get(day.date)) ?? ''}
            isChosen={day?.date === chosen}
            isOpened={day !== undefined && day.date === opened}
          />
        ))}
      </tr>
    );
  }
}

export type Rows = Map<string, (UnitDay | undefined)[]>;

// The days of each unit by column.
export function rowsOf(days: AllDays['days']): Rows {
  const rows: Rows = new Map();
  days.forEach(({ units }, column) => {
    for (const day of units) {
      let row = rows.get(day.unit);
      if (!row) rows.set(day.unit, (row = new Array<UnitDay | undefined>(days.length).fill(undefined)));
      row[column] = day;
    }
  });
  return rows;
}

const rowsAtOnce = 12;

// As many as the screen has room for below what stands above them.
function rowsInSight(): number {
  return Math.max(6, Math.ceil((innerHeight - 300) / 58));
}

// How many of so many rows are drawn: a screenful at first, the others whenever the browser has time.
export function useRowsDrawn(count: number): number {
  const [drawn, setDrawn] = useState(rowsInSight);
  useEffect(() => {
    if (drawn >= count) return;
    const more = () => setDrawn(drawn + rowsAtOnce);
    if (!window.requestIdleCallback) {
      const timer = setTimeout(more, 50);
      return () => clearTimeout(timer);
    }
    const idle = requestIdleCallback(more, { timeout: 500 });
    return () => cancelIdleCallback(idle);
  }, [drawn, count]);
  return Math.min(drawn, count);
}

export interface Crews {
  asked: number;
  patrol: number;
  there: number;
  unknown: number;
  names: string[];
}

function CrewsCell({ crews, isChosen }: { crews: Crews; isChosen: boolean }) {
  const all = crews.asked + crews.patrol;
  const short = all - crews.there;
  const what = [...crews.names, ...(crews.patrol ? [`on patrol ${crews.patrol}`] : [])].join(', ');
  return (
    <td role="gridcell" class={`crews${short > 0 ? ' short' : ''}${isChosen ? ' chosen' : ''}`} title={what}>
      <b>
        {all} / {crews.there}
      </b>
      <small>{short > 0 ? `short by ${short}` : crews.unknown ? `+${crews.unknown} if unknown` : 'enough'}</small>
    </td>
  );
}

export function DaysTable(props: {
  days: AllDays['days'];
  rows: Rows;
  drawn: number;
  chosen: string; // date, which orders the rows
  opened: string; // "UNIT/DATE", "day" for the chosen date, or nothing
  detail: ComponentChildren; // of what is opened
  marks: Map<string, Marks>; // by unit
  crews: Crews[]; // by column
  today: string;
  choose: (date: string) => void;
  open: (cell: string) => void;
  point: (cell: string) => void;
}) {
  const { days, rows, drawn, chosen, opened, detail, marks, crews, today, choose, open, point } = props;
  const app = useApp();
  const order = useMemo(() => (days.find((d) => d.date === chosen)?.units ?? []).map((u) => u.unit), [days, chosen]);
  const [openedUnit = '', openedDate = ''] = opened.split('/');
  const cellAt = (e: Event) => (e.target as Element).closest<HTMLElement>('[data-cell]')?.dataset['cell'];
  const pointAt = (e: Event) => {
    const cell = cellAt(e);
    if (cell) point(cell);
  };
  const press = (e: Event) => {
    const cell = cellAt(e);
    const date = (e.target as Element).closest<HTMLElement>('[data-date]')?.dataset['date'];
    if (cell) open(cell);
    else if (date) choose(date);
  };
  const isDay = opened === 'day';
  const detailRow = (
    <tr class="opened" role="row">
      <td role="gridcell" aria-colspan={days.length + 1}>
        <div class="panel">{detail}</div>
      </td>
    </tr>
  );
  return (
    <div class={`table-frame days-frame${days.length <= 11 ? ' fits' : ''}`} tabIndex={-1}>
      <table
        class="days"
        role="grid"
        aria-labelledby="days-heading"
        style={{ '--days': String(days.length) }}
        onKeyDown={moveInGrid}
        onClick={press}
        onMouseOver={pointAt}
        onFocusIn={pointAt}
      >
        <thead role="rowgroup">
          <tr role="row">
            <th scope="col" role="columnheader" class="corner">
              Unit
            </th>
            {days.map((d, i) => {
              const isChosen = d.date === chosen;
              return (
                <th scope="col" role="columnheader" key={d.date} class={isChosen ? 'chosen' : ''} aria-sort={isChosen ? 'ascending' : undefined}>
                  <button type="button" data-date={d.date} data-column={i + 1} tabIndex={isChosen ? 0 : -1} aria-expanded={isDay && isChosen}>
                    {dateText(d.date)}
                    <small>{leadText(d.date, today)}</small>
                  </button>
                </th>
              );
            })}
          </tr>
          <tr role="row">
            <th scope="row" role="rowheader" class="corner">
              Crews
              <small>asked and patrol / there</small>
            </th>
            {days.map((d, i) => (
              <CrewsCell key={d.date} crews={crews[i]!} isChosen={d.date === chosen} />
            ))}
          </tr>
        </thead>
        <tbody role="rowgroup">
          {isDay && detailRow}
          {order.slice(0, drawn).map((unit) => {
            const isOpened = unit === openedUnit && rows.get(unit)!.some((day) => day?.date === openedDate);
            return (
              <Fragment key={unit}>
                <UnitRow app={app} unit={unit} days={rows.get(unit)!} marks={marks.get(unit)} chosen={chosen} opened={isOpened ? openedDate : ''} />
                {isOpened && detailRow}
              </Fragment>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}
