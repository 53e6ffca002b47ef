// Booking a unit for a date. A booking is a person's decision: it names who made it and freezes what it rested on.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { may, refusal, unitName, useApp } from './app';
import { showChange } from './live';
import { Trouble } from './parts';
import { dateText } from './time';
import type { Booking, Day, Verdict } from './types';
import { bookedText, verdictWord } from './words';

export function BookingForm({ unit, date, verdict, done }: { unit: string; date: string; verdict?: Verdict; done: () => void }) {
  const app = useApp();
  const [state, setState] = useState(may(app, 'commit') ? 'committed' : 'draft');
  const [note, setNote] = useState('');
  const [problem, setProblem] = useState<Problem>();
  const [isSending, setSending] = useState(false);
  const [made, setMade] = useState<Booking>();
  if (!may(app, 'draft')) return <p class="note">{refusal(app, 'draft')}</p>;
  if (made)
    return (
      <p class="note" role="status">
        {unitName(app, made.unit)} is booked for {dateText(made.date)} ({made.state}), by {made.by}.{' '}
        <button type="button" onClick={done}>
          Close
        </button>
      </p>
    );
  const send = async (event: Event) => {
    event.preventDefault();
    setSending(true);
    setProblem(undefined);
    try {
      const booking = await ask<Booking>('/bookings', { method: 'POST', body: { unit, date, state, ...(note ? { note } : {}) } });
      setMade(booking);
      await showChange();
    } catch (refused) {
      setProblem(refused as Problem);
    }
    setSending(false);
  };
  return (
    <form class="booking" onSubmit={send} aria-label={`Book ${unitName(app, unit)} for ${dateText(date)}`}>
      <fieldset>
        <legend>
          {unitName(app, unit)}, {dateText(date)}
          {verdict && verdict !== 'met' && <b> – the forecast says {verdictWord(verdict).toLowerCase()}</b>}
        </legend>
        <label>
          <input type="radio" name="state" value="draft" checked={state === 'draft'} onChange={() => setState('draft')} /> Draft
        </label>
        <label>
          <input
            type="radio"
            name="state"
            value="committed"
            disabled={!may(app, 'commit')}
            checked={state === 'committed'}
            onChange={() => setState('committed')}
          />{' '}
          Committed
        </label>
        {!may(app, 'commit') && <p class="quiet">{refusal(app, 'commit')}</p>}
        <label class="wide">
          Note
          <input type="text" value={note} onInput={(e) => setNote(e.currentTarget.value)} />
        </label>
      </fieldset>
      <Trouble problem={problem} />
      <p class="quiet">It books crews for the plan; whether to light is decided on the ground.</p>
      <button type="submit" class="main" disabled={isSending}>
        Book
      </button>{' '}
      <button type="button" onClick={done}>
        Leave it
      </button>
    </form>
  );
}

// The booking that stands for a unit's day, or the way to one; `children` are what else there is to do with the day.
export function DayBooking({ unit, day, booking, children }: { unit: string; day: Day; booking?: Booking; children: ComponentChildren }) {
  const [isBooking, setBooking] = useState(false);
  return (
    <>
      {booking && <p class="note">{bookedText(booking)}.</p>}
      <p class="actions">
        {children}
        {!booking && (
          <button type="button" aria-expanded={isBooking} onClick={() => setBooking(!isBooking)}>
            Book this day
          </button>
        )}
      </p>
      {isBooking && <BookingForm unit={unit} date={day.date} verdict={day.verdict} done={() => setBooking(false)} />}
    </>
  );
}
