// District: units × days. One look shows what can be burnt when, what stands against the rest, and on which days everybody's
// units come in together.
import { useMemo, useRef, useState } from 'preact/hooks';
import { linkTo, setQuery, unitName, useApp, type App } from './app';
import { UnitDayDetail } from './day_detail';
import { byUnitAndDate, dateShown, isOpenBurn, mayBurn, standingBookings } from './days';
import { DaysTable, reasonOf, rowsOf, useRowsDrawn, type Crews, type Marks, type Rows } from './days_table';
import { serviceNow } from './live';
import { NoDays, Waiting } from './parts';
import { paths, type Place } from './place';
import { Key, Sign } from './signs';
import { OpenBurns, Stops } from './standing';
import { dateText, localDate } from './time';
import type { AllDays, Booking, Plan, Stop, UnitDay } from './types';
import { useData } from './use_data';
import { plural, verdictWord, words } from './words';

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

// What people decided about a day, or a plan proposes, by unit and date.
function marksOf(bookings: Booking[], plan: Plan | undefined): Map<string, Marks> {
  const marks = new Map<string, Marks>();
  const add = (unit: string, date: string, mark: string) => {
    let ofUnit = marks.get(unit);
    if (!ofUnit) marks.set(unit, (ofUnit = new Map()));
    const before = ofUnit.get(date);
    ofUnit.set(date, before ? `${before}, ${mark}` : mark);
  };
  for (const booking of byUnitAndDate(bookings).values()) add(booking.unit, booking.date, words(booking.state).toLowerCase());
  for (const burn of plan?.burns ?? []) add(burn.unit, burn.date, 'proposed');
  return marks;
}

function DayPanel({ date, units, isPlanned }: { date: string; units: UnitDay[]; isPlanned: (unit: string) => boolean }) {
  const app = useApp();
  const [first, second] = units;
  const compared = useData<AllDays & { days: { compared?: string }[] }>(
    first && second ? `/days?from=${date}&to=${date}&compare=${first.unit},${second.unit}` : null,
  );
  const offered = units.filter(mayBurn);
  return (
    <>
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
    </>
  );
}

function dayOf(rows: Rows, cell: string): UnitDay | undefined {
  const [unit = '', date] = cell.split('/');
  return rows.get(unit)?.find((day) => day?.date === date);
}

// What limits the day that is pointed at. It keeps for itself where that is: the table is not drawn again for it.
function Reading({ rows, point }: { rows: Rows; point: { current: (cell: string) => void } }) {
  const app = useApp();
  const [pointed, setPointed] = useState('');
  point.current = setPointed;
  const day = dayOf(rows, pointed);
  return (
    <p class={day ? 'reading' : 'reading hint'}>
      {day ? (
        <>
          <strong>
            {unitName(app, day.unit)}, {dateText(day.date)}
          </strong>{' '}
          {reasonOf(app, day)}
        </>
      ) : (
        'Point at a day, or move with the arrow keys, to read what limits it; open it for its windows, tail and margins.'
      )}
    </p>
  );
}

const none: never[] = [];

export function DistrictView({ place }: { place: Place }) {
  const app = useApp();
  const answer = useData<AllDays>(paths.days(app.district.id));
  const bookings = useData<{ bookings: Booking[] }>(paths.bookings(app.district.id));
  const stops = useData<{ stops: Stop[] }>(paths.stops(app.district.id));
  const point = useRef<(cell: string) => void>(() => undefined);

  const days = answer.data?.days ?? none;
  const booked = bookings.data?.bookings ?? none;
  const chosen = dateShown(days, place.query.get('day'));
  const opened = place.query.get('open') ?? ''; // a unit's day "UNIT/DATE", or "day"
  const ranked = days.find((d) => d.date === chosen)?.units ?? none;
  const drawn = useRowsDrawn(ranked.length);
  // A plan takes the service longest, and adds no more than a word to a cell.
  const isWhole = answer.data !== undefined && drawn === ranked.length;
  const plan = useData<Plan>(isWhole ? `/plan?district=${app.district.id}` : null);
  const rows = useMemo(() => rowsOf(days), [days]);
  const marks = useMemo(() => marksOf(booked, plan.data), [booked, plan.data]);
  const crews = useMemo(() => days.map((d) => crewsOn(app, d.units, booked)), [app, days, booked]);

  const open = (what: string | null, day = chosen) => setQuery(place, { open: what, day });
  const openedDay = dayOf(rows, opened);
  const planned = new Set(plan.data?.burns.map((b) => `${b.unit}/${b.date}`));

  return (
    <>
      <h1 class="unseen">District {app.district.name}: units and days</h1>
      <div class="on-top">
        <Stops answer={stops} />
        <OpenBurns answer={bookings} />
      </div>
      {!answer.data ? (
        <Waiting answer={answer} what="the days of all units" />
      ) : days.length === 0 ? (
        <NoDays />
      ) : (
        <>
          <div class="day-picker" role="group" aria-label="Day shown">
            {days.map((d) => (
              <button type="button" key={d.date} aria-pressed={d.date === chosen} onClick={() => open(null, d.date)}>
                {dateText(d.date)}
              </button>
            ))}
          </div>
          <section aria-labelledby="days-heading">
            <div class="heading-row">
              <h2 id="days-heading">Units and days, in the order of {dateText(chosen)}</h2>
              <Key />
            </div>
            <DaysTable
              days={days}
              rows={rows}
              drawn={drawn}
              chosen={chosen}
              opened={opened}
              detail={
                openedDay ? (
                  <UnitDayDetail key={opened} day={openedDay} of={days.length} booking={standingBookings(booked).get(opened)} />
                ) : (
                  <DayPanel date={chosen} units={ranked} isPlanned={(unit) => planned.has(`${unit}/${chosen}`)} />
                )
              }
              marks={marks}
              crews={crews}
              today={localDate(serviceNow(), app.zone)}
              choose={(date) => open(opened === 'day' && date === chosen ? null : 'day', date)}
              open={(cell) => open(opened === cell ? null : cell)}
              point={(cell) => point.current(cell)}
            />
            <Reading rows={rows} point={point} />
          </section>
        </>
      )}
    </>
  );
}
