// District: units × days. One look shows what can be burnt when, what stands against the rest, and on which days everybody's
// units come in together.
import { Fragment } from 'preact';
import { useMemo, useState } from 'preact/hooks';
import { useData } from './api';
import { linkTo, setQuery, unitName, unitZone, useApp, type App, type Place } from './app';
import { UnitDayDetail } from './day_detail';
import { bestWindow, byUnitAndDate, dateShown, isOpenBurn, mayBurn } from './days';
import { serviceNow } from './live';
import { moveInGrid, Waiting } from './parts';
import { Key, Sign } from './signs';
import { OpenBurns, Stops } from './standing';
import { dateText, hoursText, leadText, localDate } from './time';
import type { AllDays, Booking, Plan, Stop, UnitDay } from './types';
import { plural, verdictWord, words } from './words';

// What stands against the day, or what its window hangs on, in one sentence.
function reasonOf(app: App, day: UnitDay): string {
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
function linesOf(app: App, day: UnitDay, marks: string[]): string[] {
  const lines: string[] = [];
  const best = bestWindow(day);
  if (day.verdict === 'blocked') lines.push(day.blocked_by.map((b) => words(b.kind).toLowerCase()).join(', '));
  else if (day.verdict === 'out') lines.push(...(day.tail?.verdict === 'out' ? ['tail out'] : []));
  else if (best) lines.push(hoursText(best.start, best.end, unitZone(app, day.unit)) + (best.unconfirmed ? ' ?' : ''));
  return marks.length ? [...lines, marks.join(', ')] : lines;
}

// A cell's name begins with what stands in it, and goes on with what a look at the table's edges tells.
function nameOf(app: App, day: UnitDay, lines: string[]): string {
  const best = bestWindow(day);
  return `${[verdictWord(day.verdict), ...lines].join(' ')}, ${unitName(app, day.unit)}, ${dateText(day.date)}. ${
    best?.unconfirmed ? 'Unconfirmed window. ' : ''
  }${reasonOf(app, day)}`;
}

interface Crews {
  asked: number;
  patrol: number;
  there: number;
  unknown: number;
  names: string[];
}

// Crews that the met units of a date ask for, with those on patrol at open burns, against those of the depots.
function crewsOn(app: App, units: UnitDay[], bookings: Booking[]): Crews {
  const crews = (id: string) => app.units.get(id)?.properties.needs?.crews ?? 1;
  const met = units.filter((u) => u.verdict === 'met');
  const open = bookings.filter(isOpenBurn);
  return {
    asked: met.reduce((sum, u) => sum + crews(u.unit), 0),
    patrol: open.reduce((sum, b) => sum + (app.units.get(b.unit)?.properties.needs?.patrol_crews ?? 1), 0),
    there: (app.district.depots ?? []).reduce((sum, d) => sum + d.crews, 0),
    unknown: units.filter((u) => u.verdict === 'unknown').reduce((sum, u) => sum + crews(u.unit), 0),
    names: met.map((u) => `${unitName(app, u.unit)} ${crews(u.unit)}`),
  };
}

function CrewsCell({ crews, chosen }: { crews: Crews; chosen: boolean }) {
  const all = crews.asked + crews.patrol;
  const short = all - crews.there;
  const what = [...crews.names, ...(crews.patrol ? [`on patrol ${crews.patrol}`] : [])].join(', ');
  return (
    <td class={`crews${short > 0 ? ' short' : ''}${chosen ? ' chosen' : ''}`} title={what}>
      <b>
        {all} / {crews.there}
      </b>
      <small>{short > 0 ? `short by ${short}` : crews.unknown ? `${crews.unknown} more if unknown ones come in` : 'enough'}</small>
    </td>
  );
}

function DayPanel({ date, units, columns, isPlanned }: { date: string; units: UnitDay[]; columns: number; isPlanned: (unit: string) => boolean }) {
  const app = useApp();
  const [first, second] = units;
  const compared = useData<AllDays & { days: { compared?: string }[] }>(
    first && second ? `/days?from=${date}&to=${date}&compare=${first.unit},${second.unit}` : null,
  );
  const offered = units.filter(mayBurn);
  return (
    <tr class="opened">
      <td colSpan={columns}>
        <div class="panel">
          <h3>{dateText(date)}, units in rank order</h3>
          {compared.data?.days[0]?.compared && <p>{compared.data.days[0].compared}</p>}
          {offered.length === 0 && <p>No unit is met, unknown or a near miss on this day.</p>}
          <ol class="ranked">
            {offered.map((u) => (
              <li key={u.unit}>
                <Sign verdict={u.verdict} /> <strong>{verdictWord(u.verdict)}</strong>{' '}
                <a href={linkTo('unit', u.unit, { day: date })}>{unitName(app, u.unit)}</a>: {u.why}
                {isPlanned(u.unit) && <em> In the proposed plan.</em>}
              </li>
            ))}
          </ol>
          <p>
            {plural(units.filter((u) => u.verdict === 'out').length, 'unit')} out,{' '}
            {units.filter((u) => u.verdict === 'blocked').length} blocked.{' '}
            <a href={linkTo('plan', '', { from: date, to: date })}>Plan this day</a> ·{' '}
            <a href={linkTo('map', '', { day: date })}>See it on the map</a>
          </p>
        </div>
      </td>
    </tr>
  );
}

export function DistrictView({ place }: { place: Place }) {
  const app = useApp();
  const answer = useData<AllDays>(`/days?district=${app.district.id}`);
  const bookings = useData<{ bookings: Booking[] }>(`/bookings?district=${app.district.id}`);
  const stops = useData<{ stops: Stop[] }>('/stops');
  const plan = useData<Plan>(`/plan?district=${app.district.id}`);
  const [pointed, setPointed] = useState(''); // a unit's day

  const days = answer.data?.days ?? [];
  const chosen = dateShown(days, place.query.get('day')); // it orders the rows
  const opened = place.query.get('open') ?? ''; // a unit's day "ID/DATE", or "day"
  const byCell = useMemo(() => byUnitAndDate(days.flatMap((d) => d.units)), [answer.data]);
  const ranked = days.find((d) => d.date === chosen)?.units ?? [];

  if (!answer.data) return <Waiting answer={answer} what="the days of all units" />;
  const open = (what: string | null, day = chosen) => setQuery(place, { open: what, day });
  const planned = new Set(plan.data?.burns.map((b) => `${b.unit}/${b.date}`));
  const booked = byUnitAndDate(bookings.data?.bookings ?? []);
  const today = localDate(serviceNow(), app.zone);
  const read = byCell.get(pointed);

  return (
    <>
      <h1 class="unseen">District {app.district.name}: units and days</h1>
      <div class="on-top">
        <Stops stops={stops.data?.stops ?? []} />
        <OpenBurns bookings={bookings.data?.bookings ?? []} />
      </div>
      <div class="day-picker" role="group" aria-label="Day shown">
        {days.map((d) => (
          <button type="button" key={d.date} aria-pressed={d.date === chosen} onClick={() => open(null, d.date)}>
            {dateText(d.date)}
          </button>
        ))}
      </div>
      <section aria-labelledby="days-heading">
        <div class="heading-row">
          <h2 id="days-heading">
            Units and days, in the order of {dateText(chosen)}
          </h2>
          <Key />
        </div>
        <div class="table-frame" tabIndex={-1}>
          <table class="days" role="grid" aria-labelledby="days-heading" onKeyDown={moveInGrid}>
            <thead>
              <tr>
                <th scope="col" class="corner">
                  Unit
                </th>
                {days.map((d, column) => (
                  <th scope="col" key={d.date} class={d.date === chosen ? 'chosen' : ''} aria-sort={d.date === chosen ? 'ascending' : undefined}>
                    <button
                      type="button"
                      data-row={0}
                      data-column={column + 1}
                      tabIndex={d.date === chosen ? 0 : -1}
                      aria-expanded={opened === 'day' && d.date === chosen}
                      onClick={() => open(opened === 'day' && d.date === chosen ? null : 'day', d.date)}
                    >
                      {dateText(d.date)}
                      <small>{leadText(d.date, today)}</small>
                    </button>
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {opened === 'day' && (
                <DayPanel
                  date={chosen}
                  units={ranked}
                  columns={days.length + 1}
                  isPlanned={(unit) => planned.has(`${unit}/${chosen}`)}
                />
              )}
              {ranked.map(({ unit }, row) => (
                <Fragment key={unit}>
                  <tr>
                    <th scope="row">
                      <a href={linkTo('unit', unit, { day: chosen })} data-row={row + 1} data-column={0} tabIndex={-1}>
                        {unitName(app, unit)}
                      </a>
                      <small>
                        {app.units.get(unit)?.properties.area_ha} ha · {plural(app.units.get(unit)?.properties.needs?.crews ?? 1, 'crew')}
                      </small>
                    </th>
                    {days.map((d, column) => {
                      const day = byCell.get(`${unit}/${d.date}`);
                      if (!day) return <td key={d.date} class={d.date === chosen ? 'chosen' : ''} />;
                      const cell = `${unit}/${d.date}`;
                      const stands = booked.get(cell);
                      const marks = [...(stands ? [words(stands.state).toLowerCase()] : []), ...(planned.has(cell) ? ['proposed'] : [])];
                      const lines = linesOf(app, day, marks);
                      return (
                        <td key={d.date} class={`is-${day.verdict}${d.date === chosen ? ' chosen' : ''}`}>
                          <button
                            type="button"
                            data-row={row + 1}
                            data-column={column + 1}
                            tabIndex={-1}
                            aria-label={nameOf(app, day, lines)}
                            aria-expanded={opened === cell}
                            onFocus={() => setPointed(cell)}
                            onMouseEnter={() => setPointed(cell)}
                            onClick={() => open(opened === cell ? null : cell)}
                          >
                            <span class="what">
                              <Sign verdict={day.verdict} /> {verdictWord(day.verdict)}
                            </span>{' '}
                            {lines.map((line, i) => (
                              <small key={line} class={marks.length && i === lines.length - 1 ? 'mark' : ''}>
                                {line}{' '}
                              </small>
                            ))}
                          </button>
                        </td>
                      );
                    })}
                  </tr>
                  {opened.startsWith(`${unit}/`) && byCell.get(opened) && (
                    <tr class="opened">
                      <td colSpan={days.length + 1}>
                        <div class="panel">
                          <UnitDayDetail key={opened} day={byCell.get(opened)!} of={days.length} booking={booked.get(opened)} />
                        </div>
                      </td>
                    </tr>
                  )}
                </Fragment>
              ))}
            </tbody>
            <tfoot>
              <tr>
                <th scope="row">
                  Crews asked / there
                  <small>met units and patrol</small>
                </th>
                {days.map((d) => (
                  <CrewsCell key={d.date} crews={crewsOn(app, d.units, bookings.data?.bookings ?? [])} chosen={d.date === chosen} />
                ))}
              </tr>
            </tfoot>
          </table>
        </div>
        <p class="reading">
          {read ? (
            <>
              <strong>
                {unitName(app, read.unit)}, {dateText(read.date)}
              </strong>{' '}
              {reasonOf(app, read)}
            </>
          ) : (
            'Point at a day, or move with the arrow keys, to read what limits it; open it for its windows, tail and margins.'
          )}
        </p>
      </section>
    </>
  );
}
