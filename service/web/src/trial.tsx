// Trial: another prescription for the same hours. Nothing is stored until somebody who may says so and gives a reason.
import { useEffect, useState } from 'preact/hooks';
import { ask, etagOf, type Problem } from './api';
import { may, refusal, useApp } from './app';
import { serviceNow, showChange } from './live';
import { Columns, Trouble } from './parts';
import { Sign } from './signs';
import { dateText } from './time';
import type { Day, Limit, Prescription, Range, UnitDays } from './types';
import { kindText, scopeText, unitText, verdictWord } from './words';

// What answers add to a prescription is not part of it.
function written(prescription: Prescription): Prescription {
  const { revision, unit, which, run, freshness, caution, ...rest } = prescription as Prescription & Record<string, unknown>;
  void [revision, unit, which, run, freshness, caution];
  return rest as Prescription;
}

type Side = 'min' | 'max';
const open: Record<Side, 'above' | 'below'> = { min: 'above', max: 'below' };

// The bound of a side under whichever of its two names it stands.
function boundName(range: Range | undefined, side: Side): keyof Range | undefined {
  if (range?.[side] !== undefined) return side;
  return range?.[open[side]] !== undefined ? open[side] : undefined;
}

function withBound(limit: Limit, side: Side, text: string): Limit {
  const name = boundName(limit.acceptable, side) ?? side;
  const acceptable = { ...limit.acceptable };
  if (text.trim() === '' || Number.isNaN(Number(text))) delete acceptable[name];
  else acceptable[name] = Number(text);
  return { ...limit, acceptable };
}

function withSector(limit: Limit, index: number, end: 'from' | 'to', text: string): Limit {
  const sectors = (limit.sectors ?? []).map((s, i) => (i === index && text.trim() !== '' ? { ...s, [end]: Number(text) } : s));
  return { ...limit, sectors };
}

function LimitFields({ limit, change, label }: { limit: Limit; change: (limit: Limit) => void; label: string }) {
  const { catalogue } = useApp();
  if (limit.sectors)
    return (
      <>
        {limit.sectors.map((s, i) => (
          <span key={i} class="bounds">
            {(['from', 'to'] as const).map((end) => (
              <label key={end}>
                <span class="side">{end === 'from' ? 'from' : 'round to'}</span>
                <input
                  type="number"
                  min="0"
                  max="360"
                  step="5"
                  aria-label={`${label}: ${end === 'from' ? 'from' : 'round to'}, degrees`}
                  value={s[end]}
                  onInput={(e) => change(withSector(limit, i, end, e.currentTarget.value))}
                />
                °
              </label>
            ))}
          </span>
        ))}
      </>
    );
  const unit = unitText(catalogue.unit(limit.quantity));
  return (
    <span class="bounds">
      {(['min', 'max'] as Side[]).map((side) => {
        const name = boundName(limit.acceptable, side);
        const what = name === 'above' ? 'more than' : name === 'below' ? 'less than' : side === 'min' ? 'at least' : 'at most';
        return (
          <label key={side}>
            <span class="side">{what}</span>
            <input
              type="number"
              step="any"
              aria-label={`${label}: ${what}${unit ? `, ${unit}` : ''}`}
              value={name ? limit.acceptable?.[name] : ''}
              onInput={(e) => change(withBound(limit, side, e.currentTarget.value))}
            />
          </label>
        );
      })}
      <span class="unit">{unit}</span>
    </span>
  );
}

// A time of day as 24 hours, however the reader's machine writes them. Half-typed ones are not asked about.
function ClockField({ value, change }: { value: string; change: (text: string) => void }) {
  return (
    <input
      type="text"
      class="clock"
      inputMode="numeric"
      maxLength={5}
      placeholder="hh:mm"
      value={value}
      onInput={(e) => /^([01]\d|2[0-4]):[0-5]\d$/.test(e.currentTarget.value) && change(e.currentTarget.value)}
    />
  );
}

export interface TrialState {
  wanted: Prescription | null; // null: as written
  answer: UnitDays | null;
  etag?: string; // of the writing that it began from
}

// How days changed by a trial, in the trial's order.
function Reranked({ before, after }: { before: Day[]; after: Day[] }) {
  return (
    <table class="rows reranked">
      <caption>Days in the order of the trial</caption>
      <Columns names={['Rank', 'Day', 'Trial', 'As written', 'Why']} />
      <tbody>
        {after.map((day) => {
          const was = before.find((b) => b.date === day.date);
          const moved = was ? was.rank - day.rank : 0;
          return (
            <tr key={day.date} class={was && was.verdict !== day.verdict ? 'changed' : ''}>
              <td>
                {day.rank}
                {moved !== 0 && (
                  <small>
                    {moved > 0 ? ' up ' : ' down '}
                    {Math.abs(moved)}
                  </small>
                )}
              </td>
              <th scope="row">{dateText(day.date)}</th>
              <td>
                <Sign verdict={day.verdict} /> {verdictWord(day.verdict)}
                {day.windows[0] && ` ${day.windows[0].hours} h`}
              </td>
              <td>
                {was && (
                  <>
                    <Sign verdict={was.verdict} /> {verdictWord(was.verdict)}
                    {was.windows[0] && ` ${was.windows[0].hours} h`}
                  </>
                )}
              </td>
              <td>{day.why}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

function StoreForm({ unit, wanted, etag, stored }: { unit: string; wanted: Prescription; etag?: string; stored: () => void }) {
  const app = useApp();
  const [reason, setReason] = useState('');
  const [confirms, setConfirms] = useState(false);
  const [problem, setProblem] = useState<Problem>();
  if (!may(app, 'prescribe')) return <p class="note">{refusal(app, 'prescribe')} The trial is yours to look at.</p>;
  const store = async (event: Event) => {
    event.preventDefault();
    setProblem(undefined);
    const { confirmed, ...rest } = wanted;
    void confirmed;
    const body = confirms ? { ...rest, confirmed: { by: app.session.actor, at: serviceNow().toISOString() } } : rest;
    try {
      await ask(`/units/${unit}/prescription?reason=${encodeURIComponent(reason.trim())}`, { method: 'PUT', body, ifMatch: etag });
      await showChange();
      stored();
    } catch (refused) {
      setProblem(refused as Problem);
    }
  };
  return (
    <form class="store" onSubmit={store}>
      <p>
        <strong>Nothing of this is stored.</strong> To make it the unit’s prescription, say why:
      </p>
      <label class="wide">
        Reason
        <input type="text" required minLength={4} value={reason} onInput={(e) => setReason(e.currentTarget.value)} />
      </label>
      <label class="check">
        <input type="checkbox" checked={confirms} onChange={(e) => setConfirms(e.currentTarget.checked)} /> It is what the approved plan of the
        unit says. Otherwise it stands as a draft and raises no alerts.
      </label>
      <Trouble problem={problem} />
      <button type="submit" class="main">
        Store the prescription
      </button>
    </form>
  );
}

export function Trial(props: { unit: string; prescription: Prescription; days: Day[]; trial: TrialState; setTrial: (trial: TrialState) => void }) {
  const { unit, prescription, days, trial, setTrial } = props;
  const { catalogue } = useApp();
  const [problem, setProblem] = useState<Problem>();
  const wanted = trial.wanted ?? written(prescription);

  // Asked at once when typing rests, and again when the days are judged anew; an answer that is overtaken is dropped.
  useEffect(() => {
    if (!trial.wanted) return setProblem(undefined);
    const stop = new AbortController();
    const timer = setTimeout(async () => {
      try {
        const answer = await ask<UnitDays>(`/units/${unit}/trial`, { method: 'POST', body: trial.wanted, signal: stop.signal });
        setProblem(undefined);
        setTrial({ ...trial, answer });
      } catch (refused) {
        if (stop.signal.aborted) return;
        setProblem(refused as Problem);
        setTrial({ ...trial, answer: null }); // what the limits before these gave is not theirs
      }
    }, 200);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [trial.wanted, unit, days]);

  // The page goes on reading what is written: to be stored over is only what stood here when the trial began.
  const begun = () => (trial.wanted ? trial.etag : etagOf(`/units/${unit}/prescription`));
  const change = (next: Prescription) => setTrial({ wanted: next, answer: trial.answer, etag: begun() });
  const changeLimit = (i: number, limit: Limit) => change({ ...wanted, limits: wanted.limits.map((l, k) => (k === i ? limit : l)) });
  const isChanged = (i: number) => JSON.stringify(wanted.limits[i]) !== JSON.stringify(prescription.limits[i]);

  return (
    <section class="trial" aria-labelledby="trial-heading">
      <h2 id="trial-heading">Trial</h2>
      <p>Change a limit and the days are ranked anew at once, from the same forecast. Nothing is stored.</p>
      <div class="trial-columns">
        <form onSubmit={(e) => e.preventDefault()} aria-label="Limits on trial">
          <div class="overall">
            <label>
              Shortest window{' '}
              <input
                type="number"
                min="0.5"
                step="0.5"
                value={wanted.duration_h}
                onInput={(e) => Number(e.currentTarget.value) > 0 && change({ ...wanted, duration_h: Number(e.currentTarget.value) })}
              />{' '}
              h
            </label>
            {(['from', 'to'] as const).map((end) => (
              <label key={end}>
                {end === 'from' ? 'Light-up hours from' : 'to'}{' '}
                <ClockField
                  value={wanted.within?.[end] ?? (end === 'from' ? '00:00' : '24:00')}
                  change={(text) => change({ ...wanted, within: { from: '00:00', to: '24:00', ...wanted.within, [end]: text } })}
                />
              </label>
            ))}
            <label>
              Latest start{' '}
              <ClockField value={wanted.latest_start ?? ''} change={(text) => change({ ...wanted, latest_start: text })} />
            </label>
          </div>
          <ul class="limits">
            {wanted.limits.map((limit, i) => {
              const label = `${catalogue.title(limit.quantity)}, ${scopeText(limit)}`;
              return (
                <li key={i} class={isChanged(i) ? 'changed' : ''}>
                  <span class="limit-name">
                    {catalogue.title(limit.quantity)}
                    <small>
                      {scopeText(limit)} · {kindText(limit.kind)}
                      {isChanged(i) && prescription.limits[i] && ` · written: ${catalogue.limit(prescription.limits[i]!)}`}
                    </small>
                  </span>
                  <LimitFields limit={limit} label={label} change={(next) => changeLimit(i, next)} />
                </li>
              );
            })}
          </ul>
        </form>
        <div class="trial-answer">
          <Trouble problem={problem} />
          {trial.wanted ? (
            <>
              <p class="actions">
                <button type="button" onClick={() => setTrial({ wanted: null, answer: null })}>
                  Back to what is written
                </button>
              </p>
              {trial.answer && (
                <>
                  <p role="status">
                    {trial.answer.changed?.length
                      ? `${trial.answer.changed.map((c) => `${dateText(c.date)} from ${verdictWord(c.from).toLowerCase()} to ${verdictWord(c.to).toLowerCase()}`).join('; ')}.`
                      : 'No day changes its verdict.'}
                  </p>
                  <div class="table-frame" tabIndex={0} role="region" aria-label="Days in the order of the trial">
                    <Reranked before={days} after={trial.answer.days} />
                  </div>
                  <StoreForm unit={unit} wanted={trial.wanted} etag={trial.etag} stored={() => setTrial({ wanted: null, answer: null })} />
                </>
              )}
            </>
          ) : (
            <p class="quiet">The days as ranked by the written prescription stand above. What a change does shows here.</p>
          )}
        </div>
      </div>
    </section>
  );
}
