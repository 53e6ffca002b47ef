// Small pieces that several views share.
import type { ComponentChildren } from 'preact';
import { Problem, sentences, type Answer } from './api';

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

// Arrow keys move among the cells of a grid: one stop for Tab, whatever its size. Cells carry data-row and data-column.
export function moveInGrid(event: KeyboardEvent): void {
  const from = (event.target as HTMLElement).closest<HTMLElement>('[data-row]');
  const grid = event.currentTarget as HTMLElement;
  if (!from) return;
  const row = Number(from.dataset.row);
  const column = Number(from.dataset.column);
  const cells = [...grid.querySelectorAll<HTMLElement>('[data-row]')].filter((cell) => cell.offsetParent !== null);
  const inRow = (r: number) => cells.filter((cell) => Number(cell.dataset.row) === r);
  const nearest = (list: HTMLElement[]) =>
    list.reduce<HTMLElement | undefined>(
      (best, cell) =>
        !best || Math.abs(Number(cell.dataset.column) - column) < Math.abs(Number(best.dataset.column) - column) ? cell : best,
      undefined,
    );
  const rows = [...new Set(cells.map((cell) => Number(cell.dataset.row)))].sort((a, b) => a - b);
  const place = rows.indexOf(row);
  const line = inRow(row);
  const steps: Record<string, () => HTMLElement | undefined> = {
    ArrowRight: () => line.find((cell) => Number(cell.dataset.column) > column),
    ArrowLeft: () => [...line].reverse().find((cell) => Number(cell.dataset.column) < column),
    ArrowDown: () => nearest(inRow(rows[place + 1] ?? NaN)),
    ArrowUp: () => nearest(inRow(rows[place - 1] ?? NaN)),
    Home: () => line[0],
    End: () => line[line.length - 1],
  };
  const step = steps[event.key];
  if (!step || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const to = step();
  if (!to) return;
  grid.querySelectorAll<HTMLElement>('[data-row][tabindex="0"]').forEach((cell) => (cell.tabIndex = -1));
  to.tabIndex = 0;
  to.focus();
}
