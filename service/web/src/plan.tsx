// Plan: the set of burns that the district's means allow, what each pair that is not in it lost to, and the same question asked
// again with other means, dates or wishes. A plan proposes; people book.
import { useRef, useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { linkTo, setQuery, unitName, unitZone, useApp, type App } from './app';
import { BookingForm } from './booking';
import { bestWindow, byUnitAndDate, standingBookings } from './days';
import { Columns, Trouble, Waiting } from './parts';
import { paths, type Place } from './place';
import { Sign } from './signs';
import { dateText, hoursText, spanText, timeText } from './time';
import type { AllDays, Booking, District, Plan } from './types';
import { useData } from './use_data';
import { bookedText, needsTexts, plural, words } from './words';

interface Pair {
  unit?: string;
  date?: string;
}

interface Question {
  from?: string;
  to?: string;
  with: Pair[];
  without: Pair[];
  means: { depots: { id: string; crews: number; tankers: number; plant: number }[]; shared: { aircraft: number }; readiness?: { free_crews: number }; airsheds: { id: string; burns_per_day?: number; area_ha_per_day?: number }[] };
}

function asItIs(district: District, place: Place): Question {
  return {
    from: place.query.get('from') ?? undefined,
    to: place.query.get('to') ?? undefined,
    with: [],
    without: [],
    means: {
      depots: (district.depots ?? []).map(({ id, crews, tankers, plant }) => ({ id, crews, tankers, plant })),
      shared: { aircraft: district.shared?.aircraft ?? 0 },
      ...(district.readiness ? { readiness: { free_crews: district.readiness.free_crews } } : {}),
      airsheds: (district.airsheds ?? []).map(({ id, burns_per_day, area_ha_per_day }) => ({ id, burns_per_day, area_ha_per_day })),
    },
  };
}

function NumberField({ label, value, change }: { label: string; value: number | undefined; change: (value: number) => void }) {
  return (
    <label class="field">
      {label}
      <input
        type="number"
        min="0"
        step="1"
        value={value ?? ''}
        onInput={(e) => {
          const n = e.currentTarget.valueAsNumber;
          if (Number.isFinite(n) && n >= 0) change(n);
        }}
      />
    </label>
  );
}

function pairText(app: App, pair: Pair): string {
  return [pair.unit && unitName(app, pair.unit), pair.date && dateText(pair.date)].filter(Boolean).join(', ');
}

function Means({ question, setQuestion, dates }: { question: Question; setQuestion: (q: Question) => void; dates: string[] }) {
  const app = useApp();
  const { means } = question;
  const name = (list: { id: string; name: string }[] | undefined, id: string) => list?.find((x) => x.id === id)?.name ?? id;
  const set = (change: Partial<Question['means']>) => setQuestion({ ...question, means: { ...means, ...change } });
  return (
    <>
      <fieldset>
        <legend>Dates</legend>
        {(['from', 'to'] as const).map((end) => (
          <label class="field" key={end}>
            {end === 'from' ? 'From' : 'To'}
            <select value={question[end] ?? ''} onChange={(e) => setQuestion({ ...question, [end]: e.currentTarget.value || undefined })}>
              <option value="">{end === 'from' ? 'the first' : 'the last'}</option>
              {dates.map((d) => (
                <option key={d} value={d}>
                  {dateText(d)}
                </option>
              ))}
            </select>
          </label>
        ))}
      </fieldset>
      {means.depots.map((depot, i) => (
        <fieldset key={depot.id}>
          <legend>{name(app.district.depots, depot.id)}</legend>
          {(['crews', 'tankers', 'plant'] as const).map((what) => (
            <NumberField
              key={what}
              label={words(what)}
              value={depot[what]}
              change={(n) => set({ depots: means.depots.map((d, k) => (k === i ? { ...d, [what]: n } : d)) })}
            />
          ))}
        </fieldset>
      ))}
      <fieldset>
        <legend>District</legend>
        <NumberField label="Aircraft" value={means.shared.aircraft} change={(n) => set({ shared: { aircraft: n } })} />
        {means.readiness && (
          <NumberField label="Crews kept free on days of danger" value={means.readiness.free_crews} change={(n) => set({ readiness: { free_crews: n } })} />
        )}
      </fieldset>
      {means.airsheds.map((airshed, i) => (
        <fieldset key={airshed.id}>
          <legend>Airshed {name(app.district.airsheds, airshed.id)}</legend>
          <NumberField
            label="Burns a day"
            value={airshed.burns_per_day}
            change={(n) => set({ airsheds: means.airsheds.map((a, k) => (k === i ? { ...a, burns_per_day: n } : a)) })}
          />
          <NumberField
            label="Hectares a day"
            value={airshed.area_ha_per_day}
            change={(n) => set({ airsheds: means.airsheds.map((a, k) => (k === i ? { ...a, area_ha_per_day: n } : a)) })}
          />
        </fieldset>
      ))}
    </>
  );
}

// On a narrow screen what is proposed comes before what it is made with.
const wideEnough = matchMedia('(min-width: 901px)');

export function PlanView({ place }: { place: Place }) {
  const app = useApp();
  const [asked, setQuestion] = useState<Question>();
  const question = asked ?? asItIs(app.district, place); // as the district is until somebody changes it
  const turn = useRef(0); // of several answers on their way the last asked for counts
  const hasDates = question.from || question.to;
  const [asksAgain, setAsksAgain] = useState(false);
  const range = new URLSearchParams({ district: app.district.id, ...(place.query.get('from') ? { from: place.query.get('from')! } : {}), ...(place.query.get('to') ? { to: place.query.get('to')! } : {}) });
  const first = useData<Plan>(`/plan?${range}`);
  const all = useData<AllDays>(paths.days(app.district.id));
  const bookings = useData<{ bookings: Booking[] }>(paths.bookings(app.district.id));
  const [answer, setAnswer] = useState<Plan>();
  const [problem, setProblem] = useState<Problem>();
  const [booking, setBooking] = useState('');
  const plan = answer ?? first.data;

  const solve = async (wanted: Question) => {
    const mine = ++turn.current;
    setQuestion(wanted);
    setAsksAgain(true);
    setProblem(undefined);
    const { from, to, ...rest } = wanted;
    try {
      const made = await ask<Plan>(`/plan?district=${app.district.id}`, { method: 'POST', body: { ...rest, ...(from ? { from } : {}), ...(to ? { to } : {}) } });
      if (mine === turn.current) setAnswer(made);
    } catch (refused) {
      if (mine === turn.current) setProblem(refused as Problem);
    }
    if (mine === turn.current) setAsksAgain(false);
  };
  if (!plan) return <Waiting answer={first} what="the plan" />;

  const dates = (all.data?.days ?? []).map((d) => d.date);
  const dayOf = byUnitAndDate((all.data?.days ?? []).flatMap((d) => d.units));
  const burns = [...plan.burns].sort((a, b) => a.date.localeCompare(b.date) || a.unit.localeCompare(b.unit));
  const booked = standingBookings(bookings.data?.bookings ?? []);
  // What the weather would have allowed and the means did not; the rest is the weather's or somebody's stop.
  const chosenAgainst = plan.lost.filter((l) => l.why.kind !== 'verdict' && dayOf.get(`${l.unit}/${l.date}`)?.verdict === 'met');
  const rest = plan.lost.filter((l) => !chosenAgainst.includes(l));
  const otherDays = (unit: string, date: string) =>
    (all.data?.days ?? []).filter((d) => d.date !== date && dayOf.get(`${unit}/${d.date}`)?.verdict === 'met').map((d) => d.date);
  const costOf = (unit: string, date: string) => {
    const day = dayOf.get(`${unit}/${date}`);
    const best = day && bestWindow(day);
    const inPlan = burns.find((b) => b.unit === unit);
    const others = otherDays(unit, date);
    return [
      best && `${plural(best.hours, 'hour')}, fit ${(day?.fit ?? 0).toFixed(2)}`,
      inPlan ? `planned for ${dateText(inPlan.date)} instead` : others.length ? `it is met on ${others.map(dateText).join(' and ')} too` : 'its only met day',
    ]
      .filter(Boolean)
      .join('; ');
  };
  const again = (change: Partial<Question>) => void solve({ ...question, ...change });
  // What a person asked for stays until they ask again; what else stands here is of the newest run.
  const newest = all.data?.run;
  const isOverdue = answer !== undefined && newest && answer.run?.id !== newest.id;

  return (
    <>
      <h1>Plan</h1>
      <p>
        A proposal, not a tasking order: the burns that make the most of the days under crews, tankers, aircraft, patrols, airsheds, order and
        notice. {plan.proven ? 'No better set exists under these means.' : `It may fall short of the best by up to ${Math.round((100 * (plan.bound - plan.value)) / Math.max(plan.bound, 1))} %.`}
      </p>
      <div class="plan-columns">
        <details class="card means" open={wideEnough.matches}>
          <summary>Made with</summary>
          <form
            onSubmit={(e) => {
              e.preventDefault();
              void solve(question);
            }}
            aria-label="What the plan is made with"
          >
            <Means question={question} setQuestion={setQuestion} dates={dates} />
            {(['with', 'without'] as const).map(
              (list) =>
                question[list].length > 0 && (
                  <fieldset key={list}>
                    <legend>{list === 'with' ? 'Must be in' : 'Left out'}</legend>
                    <ul class="plain">
                      {question[list].map((pair, i) => (
                        <li key={i}>
                          {pairText(app, pair)}{' '}
                          <button type="button" aria-label={`Take back: ${pairText(app, pair)}`} onClick={() => again({ [list]: question[list].filter((_, k) => k !== i) })}>
                            Take back
                          </button>
                        </li>
                      ))}
                    </ul>
                  </fieldset>
                ),
            )}
            <p class="actions">
              <button type="submit" class="main" disabled={asksAgain}>
                Solve again
              </button>
              {(answer || hasDates) && (
                <button
                  type="button"
                  onClick={() => {
                    setQuery(place, { from: null, to: null });
                    ++turn.current;
                    setAsksAgain(false);
                    setQuestion(undefined);
                    setAnswer(undefined);
                    setProblem(undefined);
                  }}
                >
                  As the district is
                </button>
              )}
            </p>
            <p class="quiet">The district’s own numbers stay as they are.</p>
          </form>
        </details>
        <div aria-busy={asksAgain}>
          <Trouble problem={problem} />
          {isOverdue && (
            <p class="note" role="status">
              Made from {answer.run ? `the run of ${timeText(answer.run.reference_time, app.zone)}` : 'no run'}; one of{' '}
              {timeText(newest.reference_time, app.zone)} is there now.{' '}
              <button type="button" disabled={asksAgain} onClick={() => again({})}>
                Ask again
              </button>
            </p>
          )}
          <p class="unseen" role="status">
            {asksAgain ? 'Solving.' : `The plan holds ${plural(burns.length, 'burn')}.`}
          </p>
          <section aria-labelledby="burns-heading">
            <h2 id="burns-heading">Proposed: {plural(burns.length, 'burn')}</h2>
            {burns.length === 0 && <p>Nothing can be burnt under these means on these days.</p>}
            <ul class="proposed">
              {burns.map((b) => {
                const key = `${b.unit}/${b.date}`;
                const stands = booked.get(key);
                return (
                  <li key={key} class="card">
                    <div class="heading-row">
                      <h3>
                        <Sign verdict="met" /> <a href={linkTo('unit', b.unit, { day: b.date })}>{unitName(app, b.unit)}</a>
                      </h3>
                      <strong>{spanText(b.window.start, b.window.end, unitZone(app, b.unit))}</strong>
                    </div>
                    <p class="quiet">
                      {[
                        ...needsTexts(b.needs),
                        b.needs.patrol_days && `then ${plural(b.needs.patrol_crews, 'crew')} on patrol for ${plural(b.needs.patrol_days, 'day')}`,
                      ]
                        .filter(Boolean)
                        .join(', ')}
                      . {dayOf.get(key)?.why}.
                    </p>
                    <p class="actions">
                      {stands ? (
                        <span class="note">{bookedText(stands)}</span>
                      ) : (
                        <button type="button" aria-expanded={booking === key} onClick={() => setBooking(booking === key ? '' : key)}>
                          Book<span class="unseen"> {pairText(app, b)}</span>
                        </button>
                      )}
                      <button type="button" disabled={asksAgain} onClick={() => again({ without: [...question.without, { unit: b.unit, date: b.date }] })}>
                        Leave out<span class="unseen"> {pairText(app, b)}</span>
                      </button>
                    </p>
                    {booking === key && <BookingForm unit={b.unit} date={b.date} done={() => setBooking('')} />}
                  </li>
                );
              })}
            </ul>
          </section>
          <section aria-labelledby="lost-heading">
            <h2 id="lost-heading">Met, and not in it</h2>
            {chosenAgainst.length === 0 ? (
              <p>Every day that is met is in the plan, or its unit is on a better one.</p>
            ) : (
              <div class="table-frame" tabIndex={0} role="region" aria-label="What was met and lost, as a table">
                <table class="rows stacks">
                  <Columns names={['Unit and day', 'Lost to', 'What that costs', 'Ask again']} />
                  <tbody>
                    {chosenAgainst.map((l) => (
                      <tr key={l.unit + l.date}>
                        <th scope="row">
                          {unitName(app, l.unit)}
                          <br />
                          {dateText(l.date)}
                        </th>
                        <td>
                          <b>{words(l.why.kind)}</b>: {l.why.text}
                        </td>
                        <td>{costOf(l.unit, l.date)}</td>
                        <td>
                          <button type="button" disabled={asksAgain} onClick={() => again({ with: [...question.with.filter((p) => p.unit !== l.unit), { unit: l.unit, date: l.date }] })}>
                            Must be in<span class="unseen"> {pairText(app, l)}</span>
                          </button>
                        </td>
                      </tr>
                    ))}
                  </tbody>
                </table>
              </div>
            )}
            <details>
              <summary>{plural(rest.length, 'day')} of units that the weather, a stop or a rule keeps out</summary>
              <ul class="plain lost-list">
                {rest.map((l) => {
                  const day = dayOf.get(`${l.unit}/${l.date}`);
                  const best = day && bestWindow(day);
                  return (
                    <li key={l.unit + l.date}>
                      {day && <Sign verdict={day.verdict} />} <b>{pairText(app, l)}</b>
                      {best && ` ${hoursText(best.start, best.end, unitZone(app, l.unit))}`}: {l.why.text}
                    </li>
                  );
                })}
              </ul>
            </details>
          </section>
        </div>
      </div>
    </>
  );
}
