// Small pieces that several views share.
import type { ComponentChildren } from 'preact';
import { Problem, sentences, type Answer } from './api';
import { linkTo, useApp } from './app';

export function Trouble({ problem }: { problem?: Error | undefined }) {
  if (!problem) return null;
  const lines = problem instanceof Problem ? sentences(problem) : [problem.message];
  return (
    <div class="trouble" role="alert">
      <strong>{problem instanceof Problem ? problem.details.title : 'Something went wrong'}.</strong>{' '}
      {lines.length === 1 ? (
        lines[0]
      ) : (
        <ul>
          {lines.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      )}
    </div>
  );
}

// An answer that is not there yet, or will not be.
export function Waiting({ answer, what }: { answer: Answer<unknown>; what: string }) {
  if (answer.problem) return <Trouble problem={answer.problem} />;
  return (
    <p class="waiting" role="status">
      Reading {what} …
    </p>
  );
}

// Before the first unit or the first forecast there is nothing to show.
export function NoDays() {
  return (
    <p class="note">
      There are no days to show yet: no unit is entered, or no run of a feed has come in whole. <a href={linkTo('feeds')}>What came</a>
    </p>
  );
}

export function Facts({ rows }: { rows: [string, ComponentChildren][] }) {
  return (
    <dl class="facts">
      {rows
        .filter(([, value]) => value !== null && value !== undefined && value !== '' && value !== false)
        .map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
    </dl>
  );
}

// The names above a table's columns.
export function Columns({ names }: { names: string[] }) {
  return (
    <thead>
      <tr>
        {names.map((name) => (
          <th scope="col" key={name}>
            {name}
          </th>
        ))}
      </tr>
    </thead>
  );
}

// Arrow keys move among the cells of a grid: one stop for Tab, whatever its size. Cells carry data-column; a row is a table's,
// or else the grid is one.
export function moveInGrid(event: KeyboardEvent): void {
  const from = (event.target as HTMLElement).closest<HTMLElement>('[data-column]');
  const grid = event.currentTarget as HTMLElement;
  if (!from || event.ctrlKey || event.metaKey || event.altKey) return;
  const columnOf = (cell: HTMLElement) => Number(cell.dataset['column']);
  const cellsOf = (row: Element | undefined) =>
    row ? [...row.querySelectorAll<HTMLElement>('[data-column]')].filter((cell) => cell.offsetParent !== null) : [];
  const nearest = (list: HTMLElement[]) => {
    const apart = (cell: HTMLElement) => Math.abs(columnOf(cell) - columnOf(from));
    return list.reduce<HTMLElement | undefined>((best, cell) => (!best || apart(cell) < apart(best) ? cell : best), undefined);
  };
  const row = from.closest('tr') ?? grid;
  // The next row in a direction that has cells at all.
  const beyond = (step: 1 | -1) => {
    const rows = [...grid.querySelectorAll('tr')];
    for (let i = rows.indexOf(row as HTMLTableRowElement) + step; rows[i]; i += step) {
      const cells = cellsOf(rows[i]);
      if (cells.length > 0) return nearest(cells);
    }
    return undefined;
  };
  const line = cellsOf(row);
  const place = line.indexOf(from);
  const steps: Record<string, () => HTMLElement | undefined> = {
    ArrowRight: () => line[place + 1],
    ArrowLeft: () => line[place - 1],
    ArrowDown: () => beyond(1),
    ArrowUp: () => beyond(-1),
    Home: () => line[0],
    End: () => line[line.length - 1],
  };
  const step = steps[event.key];
  if (!step) return;
  event.preventDefault();
  const to = step();
  if (!to) return;
  grid.querySelectorAll<HTMLElement>('[data-column][tabindex="0"]').forEach((cell) => (cell.tabIndex = -1));
  to.tabIndex = 0;
  to.focus();
}

// A unit of the district, or all of them (the empty text).
export function UnitChoice({ unit, choose }: { unit: string; choose: (unit: string) => void }) {
  const app = useApp();
  return (
    <select value={unit} onChange={(e) => choose(e.currentTarget.value)}>
      <option value="">all units of {app.district.name}</option>
      {[...app.units.values()].map((each) => (
        <option key={each.id} value={each.id}>
          {each.properties.name}
        </option>
      ))}
    </select>
  );
}
