// A unit's day in full: its windows and what opens and closes them, margins, tail, feeds, what is missing, and how the parts of
// its fit add up.
import { linkTo, unitName, unitZone, useApp } from './app';
import { DayBooking } from './booking';
import { Facts } from './parts';
import { Sign, VerdictMark } from './signs';
import { clock, dateOrTimeText, dateText, spanText, timeText, zoneName } from './time';
import type { Booking, Day, Edge, UnitDay, ValueAt, Window } from './types';
import { number, plural, reasonText, scopeText, verdictWord, words, type Catalogue } from './words';

// "when litter moisture comes in (16.6 % the hour before, needs at most 16 %)"
function edgeText(catalogue: Catalogue, edge: Edge, isOpening: boolean): string {
  if (edge.by !== 'limit' || !edge.quantity) return `with ${catalogue.edge(edge)}`;
  const needs = edge.limit ? `, needs ${catalogue.bounds(edge.quantity, edge.limit)}` : '';
  return `when ${catalogue.title(edge.quantity).toLowerCase()} ${isOpening ? 'comes in' : 'goes out'} (${catalogue.measure(edge.quantity, edge.value)} the hour ${
    isOpening ? 'before' : 'after'
  }${needs})`;
}

function WindowFacts({ window: w, zone }: { window: Window; zone: string }) {
  const { catalogue } = useApp();
  return (
    <li>
      <strong>{spanText(w.start, w.end, zone)}</strong>, {plural(w.hours, 'hour')}
      {w.unconfirmed && <b> unconfirmed: hours in it are unknown</b>}
      {w.open_ended && <b> open-ended: at least; the forecast ends there</b>}
      <ul class="quiet">
        <li>Opens {edgeText(catalogue, w.opens, true)}</li>
        <li>Closes {edgeText(catalogue, w.closes, false)}</li>
        <li>
          Latest light-up that leaves the hours needed: {clock(w.latest_light_up, zone)} {zoneName(w.latest_light_up, zone)}
          {w.sunset && <>; sunset {clock(w.sunset, zone)}</>}
        </li>
      </ul>
    </li>
  );
}

function Point({ at, zone }: { at: ValueAt; zone: string }) {
  const { catalogue } = useApp();
  return (
    <>
      {catalogue.title(at.quantity)} {catalogue.measure(at.quantity, at.value)}
      {at.at && <> on {timeText(at.at, zone)}</>}
      {at.limit && <>, needs {catalogue.bounds(at.quantity, at.limit)}</>}
      {at.scope && <> ({scopeText({ scope: at.scope })})</>}
    </>
  );
}

export function DayFacts({ day, of, zone }: { day: Day; of: number; zone: string }) {
  const { catalogue } = useApp();
  const l = day.limiting;
  return (
    <>
      {day.blocked_by.length > 0 && (
        <ul class="blocked-list">
          {day.blocked_by.map((b) => (
            <li key={b.kind + b.why}>
              <Sign verdict="blocked" /> {words(b.kind)}: {b.why}
              {b.until && <> (until {dateOrTimeText(b.until, zone)})</>}
            </li>
          ))}
        </ul>
      )}
      {day.windows.length > 0 && (
        <>
          <p class="subhead">{day.windows.length === 1 ? 'Window' : 'Windows'}</p>
          <ul class="plain">
            {day.windows.map((w) => (
              <WindowFacts key={w.start} window={w} zone={zone} />
            ))}
          </ul>
        </>
      )}
      <Facts
        rows={[
          [
            'Limiting',
            l && (
              <>
                <Point at={l} zone={zone} />
                {l.margin !== null && (
                  <>
                    ; {catalogue.measure(l.quantity, Math.abs(l.margin))} {l.margin < 0 ? 'beyond' : 'inside'}
                    {l.margin_errors !== null && <>, {number(Math.abs(l.margin_errors))} forecast errors</>}
                  </>
                )}
                {l.gain_h ? <>; without it {plural(l.gain_h, 'hour')} more</> : null}
              </>
            ),
          ],
          [
            'Tail',
            day.tail && (
              <>
                <b>{day.tail.verdict === 'none' ? 'no tail limits' : day.tail.verdict}</b>
                {day.tail.worst && (
                  <>
                    ; worst: <Point at={day.tail.worst} zone={zone} />
                  </>
                )}
                {day.tail.beyond && (
                  <>
                    ; <strong>just beyond it:</strong> <Point at={day.tail.beyond} zone={zone} />
                  </>
                )}
              </>
            ),
          ],
          [
            'Preferences not kept',
            day.notes.length > 0 && (
              <ul class="plain">
                {day.notes.map((n) => (
                  <li key={n.quantity + n.scope}>
                    <Point at={n} zone={zone} />
                  </li>
                ))}
              </ul>
            ),
          ],
          [
            'Missing',
            day.missing.length > 0 && (
              <ul class="plain">
                {day.missing.map((m) => (
                  <li key={m.quantity + m.reason}>
                    {catalogue.title(m.quantity)}: {plural(m.hours, 'hour')}, {reasonText(m.reason)}
                  </li>
                ))}
              </ul>
            ),
          ],
          [
            'Feeds',
            <ul class="inline">
              {day.feeds.map((f) => (
                <li key={f.feed}>
                  {f.feed} <VerdictMark verdict={f.verdict} small />
                </li>
              ))}
            </ul>,
          ],
          ['Members', day.members && `${day.members.met} of ${day.members.of} met`],
          [
            'Fit',
            day.fit !== null && (
              <>
                <b>{day.fit.toFixed(2)}</b>
                {day.parts.length > 0 && ` = ${day.parts.map((p) => `${p.name} ${p.points < 0 ? '−' : '+'}${Math.abs(p.points).toFixed(2)}`).join(' ')}`}
              </>
            ),
          ],
          ['Rank', `${day.rank} of this unit’s ${of} days; confidence ${day.confidence}`],
          ['Provisional models', (day.provisional ?? []).map((q) => catalogue.title(q)).join(', ')],
        ]}
      />
      {day.draft && <p class="note">The prescription is not confirmed: a draft, which raises no alerts.</p>}
    </>
  );
}

export function UnitDayDetail({ day, of, booking }: { day: UnitDay; of: number; booking?: Booking }) {
  const app = useApp();
  const zone = unitZone(app, day.unit);
  return (
    <article aria-label={`${unitName(app, day.unit)}, ${dateText(day.date)}: ${verdictWord(day.verdict)}`}>
      <h3>
        {unitName(app, day.unit)}, {dateText(day.date)} <VerdictMark verdict={day.verdict} />
      </h3>
      <p>{day.why}.</p>
      <DayFacts day={day} of={of} zone={zone} />
      {day.windows.length > 0 && <p class="quiet">A met window does not mean the burn will hold: watch the following days.</p>}
      <DayBooking unit={day.unit} day={day} booking={booking}>
        <a class="button" href={linkTo('unit', day.unit, { day: day.date })}>
          Hours and prescription
        </a>
      </DayBooking>
    </article>
  );
}
