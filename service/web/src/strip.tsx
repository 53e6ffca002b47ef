// The hour strip: one row per limit, the limiting one first, in, out or unknown for each hour, windows bracketed above, and the
// night and days after in the same picture. Where a value meets a limit is decided by the service; the strip only shows it.
import { useMemo, useState } from 'preact/hooks';
import { useApp } from './app';
import { moveInGrid } from './parts';
import { hourSigns } from './signs';
import { clock, dateText, dayBegin, dayName, localDate, nextDate, spanText, zoneName } from './time';
import type { Day, HourFit, Hours, Limit, LimitFits, Prescription } from './types';
import { kindText, measure, plural, reasonText, scopeText } from './words';

const hour = 3_600_000;

export interface Span {
  from: number; // index of the first hour shown, and past the last
  to: number;
  tailFrom: number; // where the ignition's hours end and the tail begins
}

const isTail = (limit: Limit) => limit.scope === 'night_after' || limit.scope === 'days_after';

// The hours that decide a day: its local date, and after it those of its tail and of limits that hold on after the window.
export function spanOf(hours: Hours, day: Day, prescription: Prescription, zone: string): Span {
  const times = hours.times.map((t) => Date.parse(t));
  const index = (t: number) => {
    const found = times.findIndex((start) => start >= t);
    return found < 0 ? times.length : found;
  };
  const ends = day.windows.map((w) => Date.parse(w.end));
  const dayEnd = dayBegin(nextDate(day.date), zone).getTime();
  const ignitionEnd = Math.max(dayEnd, ...ends);
  let end = ignitionEnd;
  for (const limit of prescription.limits) {
    if (limit.scope === 'days_after') end = Math.max(end, dayBegin(nextDate(day.date, (limit.days ?? 1) + 1), zone).getTime());
    if (limit.scope === 'night_after') end = Math.max(end, dayEnd + 9 * hour);
    if (limit.hours_after) end = Math.max(end, Math.max(...ends, -Infinity) + limit.hours_after * hour);
  }
  const best = Math.max(...ends, -Infinity);
  return { from: index(dayBegin(day.date, zone).getTime()), to: index(end), tailFrom: Number.isFinite(best) ? index(best) : index(dayEnd) };
}

interface Row {
  limit: Limit;
  number: number; // in the prescription
  fit: HourFit[];
  isLimiting: boolean;
}

// The limiting one first, then as written; those of the tail last, where their hours are.
function rowsOf(prescription: Prescription, fits: LimitFits[], day: Day): Row[] {
  const fitOf = (limit: Limit, i: number) => {
    const found = fits[i];
    return found && found.quantity === limit.quantity && found.scope === limit.scope ? found.fit : [];
  };
  const rows = prescription.limits.map((limit, i) => ({
    limit,
    number: i,
    fit: fitOf(limit, i), // none where the fits are of another prescription
    isLimiting: day.limiting?.quantity === limit.quantity && day.limiting.scope === limit.scope,
  }));
  const place = (row: Row) => (row.isLimiting ? 0 : isTail(row.limit) ? 2 : 1);
  return rows.sort((a, b) => place(a) - place(b));
}

// Whether an hour belongs to what a limit is asked of.
function asks(limit: Limit, i: number, span: Span, ignitionEnd: number, sun: (number | null)[], firstLight: number, isInWindow: boolean): boolean {
  if (limit.scope === 'days_after') return i >= span.tailFrom;
  if (limit.scope === 'night_after') return i >= span.tailFrom && i < firstLight && (sun[i] ?? 1) < 0;
  if (limit.scope.startsWith('window_')) return isInWindow;
  return i < Math.max(ignitionEnd, span.tailFrom + (limit.hours_after ?? 0));
}

// Runs of equal values as [value, from, to).
function runs<T>(from: number, to: number, value: (i: number) => T): [T, number, number][] {
  const found: [T, number, number][] = [];
  for (let i = from; i < to; ++i) {
    const last = found[found.length - 1];
    if (last && last[0] === value(i)) last[2] = i + 1;
    else found.push([value(i), i, i + 1]);
  }
  return found;
}

const flagWords: Record<string, string> = {
  interpolated: 'interpolated',
  out_of_domain: 'outside the range of the model’s data',
  spin_up: 'still spinning up',
  reading: 'a reading',
  at_least: 'at least',
};

function flagsAt(hours: Hours, quantity: string, i: number): string[] {
  const flags = hours.quantities[quantity]?.flags ?? {};
  return Object.entries(flagWords)
    .filter(([key]) => Array.isArray(flags[key]) && (flags[key] as [number, number][]).some(([from, to]) => i >= from && i < to))
    .map(([, text]) => text);
}

export function HourStrip(props: { hours: Hours; fits: LimitFits[]; all: HourFit[]; day: Day; span: Span; prescription: Prescription; zone: string; isTrial: boolean }) {
  const { hours, fits, all, day, span, prescription, zone } = props;
  const { catalogue } = useApp();
  const [pointed, setPointed] = useState({ limit: -1, at: '' });
  const columns = useMemo(() => {
    const list = [];
    for (let i = span.from; i < span.to; ++i) {
      const at = hours.times[i]!;
      list.push({ i, at, date: localDate(at, zone), clock: clock(at, zone), zone: zoneName(at, zone) });
    }
    return list;
  }, [hours, span, zone]);
  if (columns.length === 0) return <p class="note">The forecast has no hours of this day.</p>;

  const rows = rowsOf(prescription, fits, day);
  const sun = hours.quantities['solar_elevation']?.values ?? [];
  const endOfDate = columns.filter((c) => c.date === day.date).length + span.from;
  const ignitionEnd = Math.max(endOfDate, span.tailFrom);
  // Night after: from the window's end to the sunrise that follows its darkness.
  let firstLight = span.to;
  for (let i = span.tailFrom, wasDark = false; i < span.to; ++i) {
    const isDark = (sun[i] ?? 1) < 0;
    if (wasDark && !isDark) {
      firstLight = i;
      break;
    }
    wasDark ||= isDark;
  }
  // The window that each hour lies in, or -1.
  const windows = columns.map(({ at }) => day.windows.findIndex((w) => Date.parse(at) >= Date.parse(w.start) && Date.parse(at) < Date.parse(w.end)));
  const { within } = prescription;
  const lightUp = (c: { date: string; clock: string }) => {
    if (!within) return c.date === day.date;
    const isOverMidnight = within.to <= within.from;
    if (c.date === day.date) return c.clock >= within.from && (isOverMidnight || c.clock < within.to);
    return isOverMidnight && c.date === nextDate(day.date) && c.clock < within.to;
  };
  // What hour k says of a row, where it is asked at all.
  const fitAt = (row: Row, k: number) => {
    const { i } = columns[k]!;
    return asks(row.limit, i, span, ignitionEnd, sun, firstLight, windows[k]! >= 0) ? row.fit[i] : undefined;
  };
  // Where Tab comes in. The hours of a tail, which may stand first, begin late.
  const entry = rows.find((row) => columns.some((_, k) => fitAt(row, k)));
  const entryAt = entry ? columns.findIndex((_, k) => fitAt(entry, k)) : -1;
  const isChange = (k: number) => k > 0 && columns[k]!.zone !== columns[k - 1]!.zone;

  // What the hour pointed at says, of the newest forecast and the prescription as it stands.
  const reading = () => {
    const row = rows.find((r) => r.number === pointed.limit);
    const { at } = pointed;
    const i = hours.times.indexOf(at);
    if (!row || i < 0) return '';
    const { limit } = row;
    const column = hours.quantities[limit.quantity];
    const value = column?.values[i];
    const missing = hours.missing.find((m) => m.quantity === limit.quantity && i >= m.from && i < m.to);
    const exact =
      value === null || value === undefined ? `missing${missing ? ` (${reasonText(missing.reason)})` : ''}` : measure(value, column?.unit ?? '1');
    const speed = limit.sectors ? hours.quantities['wind_speed']?.values[i] : undefined;
    return (
      `${spanText(at, new Date(Date.parse(at) + hour), zone)}: ${catalogue.title(limit.quantity)} ${exact}` +
      (speed === undefined || speed === null ? '' : ` with ${measure(speed, 'km/h')}`) +
      `, ${row.fit[i] ?? 'not told'}; needs ${catalogue.limit(limit)} (${scopeText(limit)}, ${kindText(limit.kind)})` +
      flagsAt(hours, limit.quantity, i)
        .map((flag) => `; ${flag}`)
        .join('')
    );
  };

  return (
    <div class="strip-block">
      <div class="table-frame" tabIndex={-1}>
        <table class="strip" role="grid" aria-label={`Hours of ${dateText(day.date)} and its tail, by limit`} onKeyDown={moveInGrid}>
          <thead>
            <tr class="dates">
              <th scope="col" class="corner">
                {props.isTrial ? 'Trial' : 'Limit'}
              </th>
              {runs(0, columns.length, (k) => columns[k]!.date).map(([date, from, to]) => {
                const zones = [...new Set(columns.slice(from, to).map((c) => c.zone))];
                return (
                  <th scope="colgroup" key={date} colSpan={to - from}>
                    {dateText(date)} {zones.join(' then ')}
                    {zones.length > 1 && <b> (the clock changes; {plural(to - from, 'hour')})</b>}
                    {date !== day.date && ' – tail'}
                  </th>
                );
              })}
            </tr>
            <tr class="brackets" aria-hidden="true">
              <td class="corner">Light-up hours</td>
              {runs(0, columns.length, (k) => lightUp(columns[k]!)).map(([inside, from, to]) => (
                <td key={from} colSpan={to - from} class={inside ? 'bracket within' : ''} />
              ))}
            </tr>
            <tr class="brackets">
              <th scope="row" class="corner">
                Window
              </th>
              {runs(0, columns.length, (k) => windows[k]!).map(([w, from, to]) => {
                const window = day.windows[w];
                return (
                  <td key={from} colSpan={to - from} class={window ? `bracket window${window.unconfirmed ? ' unconfirmed' : ''}` : from + span.from >= span.tailFrom ? 'bracket tail-hours' : ''}>
                    {!window && from + span.from >= span.tailFrom && <span class="quiet">tail</span>}
                    {window && (
                      <span>
                        {window.hours} h<span class="unseen"> {spanText(window.start, window.end, zone)}</span>
                        {window.unconfirmed && ' ?'}
                      </span>
                    )}
                  </td>
                );
              })}
            </tr>
            <tr class="clocks">
              <th scope="row" class="corner">
                Hour from
              </th>
              {columns.map((c, k) => (
                <th scope="col" key={c.i} class={isChange(k) ? 'change' : ''} abbr={`${dayName(c.date)} ${c.clock} ${c.zone}`}>
                  {c.clock.slice(0, 2)}
                  {isChange(k) && <small>{c.zone}</small>}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            <tr class="all">
              <th scope="row">All limits of the hour</th>
              {columns.map((c, k) => {
                const fit = all[c.i];
                return (
                  <td key={c.i} class={`${c.i < ignitionEnd && fit ? `f-${fit}` : 'f-none'}${isChange(k) ? ' change' : ''}`}>
                    {c.i < ignitionEnd && fit && (
                      <>
                        <span aria-hidden="true">{hourSigns[fit]}</span>
                        <span class="unseen">{fit}</span>
                      </>
                    )}
                  </td>
                );
              })}
            </tr>
            {rows.map((row, r) => (
              <tr key={`${row.limit.quantity}/${row.limit.scope}/${r}`} class={row.isLimiting ? 'limiting' : isTail(row.limit) ? 'tail' : ''}>
                <th scope="row">
                  {row.isLimiting && <b>Limiting: </b>}
                  {catalogue.title(row.limit.quantity)}
                  <small>
                    {catalogue.limit(row.limit)} · {scopeText(row.limit)}
                    {row.limit.kind !== 'hard' && ` · ${kindText(row.limit.kind)}`}
                    {row.limit.allow_hours ? ` · ${plural(row.limit.allow_hours, 'hour')} may be out` : ''}
                  </small>
                </th>
                {columns.map((c, k) => {
                  const fit = fitAt(row, k);
                  const change = isChange(k) ? ' change' : '';
                  if (!fit) return <td key={c.i} class={`f-none${change}`} />;
                  return (
                    <td
                      key={c.i}
                      class={`f-${fit}${change}`}
                      data-column={k}
                      tabIndex={row === entry && k === entryAt ? 0 : -1}
                      aria-label={`${c.clock} ${fit}`}
                      onFocus={() => setPointed({ limit: row.number, at: c.at })}
                      onMouseEnter={() => setPointed({ limit: row.number, at: c.at })}
                    >
                      {hourSigns[fit]}
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class={pointed.at ? 'reading' : 'reading hint'} role="status">
        {reading() || 'Point at an hour, or move with the arrow keys, to read its value and limit.'}
      </p>
      <ul class="key" aria-label="Key to the hours">
        {(['in', 'out', 'unknown'] as HourFit[]).map((fit) => (
          <li key={fit}>
            <span class={`swatch f-${fit}`}>{hourSigns[fit]}</span> {fit}
          </li>
        ))}
      </ul>
    </div>
  );
}
