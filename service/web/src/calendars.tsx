// Links for calendar programs: made here, shown once, taken back here.
import { useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { may, refusal, useApp } from './app';
import { showChange } from './live';
import { Trouble, UnitChoice } from './parts';
import { timeText } from './time';
import { useData } from './use_data';
import { words } from './words';

interface Calendar {
  id: string;
  name: string;
  owner: string;
  state: 'good' | 'taken_back' | 'ended';
  ends_at: string;
}

export function Calendars() {
  const app = useApp();
  const calendars = useData<{ calendars: Calendar[] }>('/calendars');
  const [unit, setUnit] = useState('');
  const [address, setAddress] = useState('');
  const [copied, setCopied] = useState(false);
  const [problem, setProblem] = useState<Problem>();
  const [isSending, setSending] = useState(false);
  const send = async (path: string, method: string, body?: unknown) => {
    setSending(true);
    setProblem(undefined);
    try {
      const made = await ask<{ address: string } | undefined>(path, { method, body });
      setAddress(made ? new URL(made.address, location.origin).href : '');
      setCopied(false);
      await showChange();
    } catch (refused) {
      setProblem(refused as Problem);
    }
    setSending(false);
  };
  const make = (event: Event) => {
    event.preventDefault();
    void send('/calendars', 'POST', unit ? { units: [unit] } : { district: app.district.id });
  };
  const copy = async () => {
    if (!navigator.clipboard) return; // by http from elsewhere there is none: the link is marked and copied by hand
    await navigator.clipboard.writeText(address);
    setCopied(true);
  };
  const standing = (calendars.data?.calendars ?? []).filter((calendar) => calendar.state === 'good');
  return (
    <details>
      <summary>Links for calendar programs</summary>
      <p>
        A link shows forecast windows in a calendar program. Whoever has it can read them until it is taken back. Such programs look
        when they like: a calendar is a view, and no alert.
      </p>
      <Trouble problem={problem ?? calendars.problem} />
      {address && (
        <div class="note" role="status">
          <label class="wide">
            This link is shown once. Give it to your calendar program.
            <input type="text" readOnly value={address} onFocus={(e) => e.currentTarget.select()} />
          </label>
          <button type="button" onClick={() => void copy()}>
            {copied ? 'Copied' : 'Copy the link'}
          </button>
        </div>
      )}
      {may(app, 'subscribe') ? (
        <form class="store" onSubmit={make} aria-label="Make a calendar link">
          <label>
            Shows{' '}
            <UnitChoice unit={unit} choose={setUnit} />
          </label>{' '}
          <button type="submit" disabled={isSending}>
            Make a link
          </button>
        </form>
      ) : (
        <p class="note">{refusal(app, 'subscribe')}</p>
      )}
      <ul class="plain">
        {standing.map((calendar) => (
          <li key={calendar.id} class="card">
            <div class="heading-row">
              <strong>{calendar.name}</strong>
              <span class="quiet">
                {words(calendar.owner)}, until {timeText(calendar.ends_at, app.zone)}
              </span>
            </div>
            {may(app, 'subscribe') && (
              <p>
                <button type="button" disabled={isSending} onClick={() => void send(`/calendars/${calendar.id}`, 'DELETE')}>
                  Take back<span class="unseen"> {calendar.name}</span>
                </button>
              </p>
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}
