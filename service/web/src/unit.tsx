// Unit: one day's hours against each limit, with its tail; what the limits are held against; and a trial of other limits.
import { useMemo, useState } from 'preact/hooks';
import { linkTo, setQuery, unitName, useApp } from './app';
import { DayBooking } from './booking';
import { DayFacts } from './day_detail';
import { limitedQuantities, standingBookings } from './days';
import { Columns, Facts, moveInGrid, NoDays, Waiting } from './parts';
import type { Place } from './place';
import { Plots } from './plots';
import { Sign, VerdictMark } from './signs';
import { HourStrip, spanOf, type Span } from './strip';
import { clock, dateText, dayName, localDate, timeText, zoneName } from './time';
import { Trial, type TrialState } from './trial';
import type { Booking, Day, HourFit, Hours, LimitFits, Prescription, Unit, UnitDays } from './types';
import { useData } from './use_data';
import { compassPoint, measure, needsTexts, plural, reasonText, verdictWord, words } from './words';

function UnitFacts({ unit }: { unit: Unit }) {
  const app = useApp();
  const p = unit.properties;
  return (
    <Facts
      rows={[
        ['Status', words(p.status)],
        ['Area', `${p.area_ha} ha`],
        [
          'Ground',
          p.elevation_m !== undefined &&
            `${p.elevation_m} m${p.slope_deg ? `, slope ${p.slope_deg}°${p.aspect_deg === undefined ? '' : ` facing ${compassPoint(p.aspect_deg)}`}` : ''}`,
        ],
        ['Fuel', p.fuel && `${words(p.fuel.type)}${p.fuel.age_years ? `, ${p.fuel.age_years} years` : ''}`],
        ['Airshed', p.airshed && (app.district.airsheds?.find((a) => a.id === p.airshed)?.name ?? p.airshed)],
        ['Needs', needsTexts(p.needs ?? {}).join(', ')],
        ['Notice', p.notice_days ? plural(p.notice_days, 'day') : null],
        ['Not with', (p.adjacent ?? []).map((id) => unitName(app, id)).join(', ')],
        ['After', (p.after ?? []).map((a) => `${unitName(app, a.unit)} by ${plural(a.days, 'day')}`).join(', ')],
      ]}
    />
  );
}

function DayChoice({ days, chosen, choose }: { days: Day[]; chosen: string; choose: (date: string) => void }) {
  const byDate = [...days].sort((a, b) => a.date.localeCompare(b.date));
  return (
    <div class="day-choice" role="group" aria-label="Days of the unit" onKeyDown={moveInGrid}>
      {byDate.map((day, i) => (
        <button
          type="button"
          key={day.date}
          class={`is-${day.verdict}`}
          aria-pressed={day.date === chosen}
          data-column={i}
          onClick={() => choose(day.date)}
        >
          <b>{dateText(day.date)}</b>
          <span>
            <Sign verdict={day.verdict} /> {verdictWord(day.verdict)}
          </span>
          <small>rank {day.rank}</small>
        </button>
      ))}
    </div>
  );
}

function HoursTable({ hours, prescription, span, zone }: { hours: Hours; prescription: Prescription; span: Span; zone: string }) {
  const { catalogue } = useApp();
  const keys = limitedQuantities(prescription);
  return (
    <div class="table-frame" tabIndex={0} role="region" aria-label="Hours as a table">
      <table class="rows numbers">
        <Columns names={['Hour from', ...keys.map((key) => catalogue.title(key))]} />
        <tbody>
          {hours.times.slice(span.from, span.to).map((at, k) => (
            <tr key={at}>
              <th scope="row">
                {dayName(localDate(at, zone))} {clock(at, zone)} {zoneName(at, zone)}
              </th>
              {keys.map((key) => (
                <td key={key}>{measure(hours.quantities[key]?.values[span.from + k], catalogue.unit(key))}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Sources({ hours, prescription }: { hours: Hours; prescription: Prescription }) {
  const { catalogue } = useApp();
  const keys = limitedQuantities(prescription);
  return (
    <>
      <ul class="plain">
        {hours.sampling.map((s) => {
          const apart = s.unit_elevation_m - s.model_elevation_m;
          return (
            <li key={s.feed}>
              Feed <strong>{s.feed}</strong> at {s.lat.toFixed(3)}, {s.lon.toFixed(3)}: its ground is {Math.round(s.model_elevation_m)} m, the unit’s{' '}
              {Math.round(s.unit_elevation_m)} m{Math.abs(apart) > 250 && <b>, {Math.round(Math.abs(apart))} m apart: corrected, and the more doubtful</b>}.
            </li>
          );
        })}
      </ul>
      <div class="table-frame" tabIndex={0} role="region" aria-label="Models and sources">
        <table class="rows">
          <Columns names={['Quantity', 'Model', 'Source', 'Holds for']} />
          <tbody>
            {keys.map((key) => {
              const row = catalogue.row(key);
              return (
                <tr key={key}>
                  <th scope="row">
                    {catalogue.title(key)}
                    {hours.quantities[key]?.flags['provisional'] === true && <b> (provisional)</b>}
                  </th>
                  <td>{row?.model}</td>
                  <td>
                    {row?.source}
                    {row?.equation && `, ${row.equation}`}
                  </td>
                  <td>{row?.domain ?? ''}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
    </>
  );
}

export function UnitView({ place }: { place: Place }) {
  const app = useApp();
  const unit = app.units.get(place.id);
  const id = unit ? place.id : null;
  const days = useData<UnitDays>(id && `/units/${id}/days`);
  const prescription = useData<Prescription>(id && `/units/${id}/prescription`);
  const bookings = useData<{ bookings: Booking[] }>(id && `/bookings?unit=${id}`);
  const keys = prescription.data && [...new Set(['solar_elevation', 'wind_speed', ...limitedQuantities(prescription.data)])].join(',');
  const hours = useData<Hours>(id && keys ? `/units/${id}/hours?limits=yes&members=yes&quantities=${keys}` : null);
  const [trial, setTrial] = useState<TrialState>({ wanted: null, answer: null });
  const [showsTable, setShowsTable] = useState(false);

  const zone = unit?.properties.time_zone ?? app.zone;
  const written = days.data?.days ?? [];
  const shownDays = trial.answer?.days ?? written;
  const chosen = written.find((d) => d.date === place.query.get('day'))?.date ?? written[0]?.date ?? '';
  const day = shownDays.find((d) => d.date === chosen);
  const shown = trial.answer && trial.wanted ? trial.wanted : prescription.data;
  const span = useMemo(() => (hours.data && day && shown ? spanOf(hours.data, day, shown, zone) : null), [hours.data, day, shown, zone]);

  if (!unit)
    return (
      <p class="note">
        There is no unit “{place.id}” here. <a href={linkTo('district')}>To the district</a>
      </p>
    );
  if (!days.data || !prescription.data || !shown) return <Waiting answer={days.problem ? days : prescription} what="the unit" />;

  const booking = standingBookings(bookings.data?.bookings ?? []).get(`${place.id}/${chosen}`);
  // Fits stand by index: of hours that begin elsewhere, as before a new run's, they would stand at the wrong ones.
  const tried = trial.answer?.hours;
  const isOfTheseHours = tried?.times.length === hours.data?.times.length && tried?.times[0] === hours.data?.times[0];
  const fits: { fit: HourFit[]; limits?: LimitFits[] } | undefined = !trial.answer ? hours.data : isOfTheseHours ? tried : undefined;

  return (
    <>
      <div class="heading-row">
        <h1>{unit.properties.name}</h1>
        <a href={linkTo('district', '', { day: chosen })}>All units</a>
      </div>
      <UnitFacts unit={unit} />
      <DayChoice days={shownDays} chosen={chosen} choose={(date) => setQuery(place, { day: date })} />
      {day && (
        <section class="card" aria-labelledby="day-heading">
          <h2 id="day-heading">
            {dateText(day.date)} <VerdictMark verdict={day.verdict} />
            {trial.answer && <em> on trial</em>}
          </h2>
          <p>{day.why}.</p>
          <DayFacts day={day} of={written.length} zone={zone} />
          <DayBooking key={day.date} unit={place.id} day={day} booking={booking}>
            <a class="button" href={`/api/v1/units/${place.id}/sheet?date=${day.date}`}>
              Unit day sheet
            </a>
          </DayBooking>
        </section>
      )}
      <section aria-labelledby="hours-heading">
        <h2 id="hours-heading">Hour by hour</h2>
        {hours.data && day && span ? (
          <HourStrip
            hours={hours.data}
            fits={fits?.limits ?? []}
            all={fits?.fit ?? []}
            day={day}
            span={span}
            prescription={shown}
            zone={zone}
            isTrial={Boolean(trial.answer)}
          />
        ) : days.data.days.length === 0 ? (
          <NoDays />
        ) : (
          <Waiting answer={hours} what="the hours" />
        )}
        <p class="quiet">Calculated FFDI is not the official fire danger rating.</p>
      </section>
      <Trial unit={place.id} prescription={prescription.data} days={written} trial={trial} setTrial={setTrial} />
      {hours.data && day && span && <Plots hours={hours.data} day={day} prescription={shown} span={span} zone={zone} />}
      {hours.data && span && (
        <>
          <details onToggle={(e) => setShowsTable(e.currentTarget.open)}>
            <summary>Hours as a table</summary>
            {showsTable && <HoursTable hours={hours.data} prescription={shown} span={span} zone={zone} />}
          </details>
          <details>
            <summary>Models, sources and what is missing</summary>
            <Sources hours={hours.data} prescription={shown} />
            {hours.data.missing.length > 0 && (
              <>
                <h3>Missing in the whole forecast</h3>
                <ul class="plain">
                  {hours.data.missing.map((m) => (
                    <li key={m.quantity + m.from}>
                      {app.catalogue.title(m.quantity)}: {timeText(hours.data!.times[m.from]!, zone)}, {plural(m.to - m.from, 'hour')},{' '}
                      {reasonText(m.reason)}
                    </li>
                  ))}
                </ul>
              </>
            )}
          </details>
        </>
      )}
    </>
  );
}
