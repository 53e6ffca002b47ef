// Alerts: what the service told, newest first, why, and who has seen what wants an answer.
import { useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { linkTo, may, refusal, useApp } from './app';
import { Calendars } from './calendars';
import { showChange } from './live';
import { Trouble, Waiting } from './parts';
import { Subscriptions } from './subscriptions';
import { timeText } from './time';
import { useData } from './use_data';
import { words } from './words';

interface AlertEvent {
  id: string;
  type: string;
  time: string;
  data: { unit?: { id: string; name: string }; date?: string; why?: string[]; title?: string };
  acknowledged?: { at: string; by: string } | null; // there where an answer is wanted
}

// "window.opened.v1" as people say it
function nameOf(event: AlertEvent): string {
  return event.data.title ?? words(event.type.replace(/\.v\d+$/, '').replaceAll('.', ' '));
}

// What happened, the unit in it as a link.
function Title({ event }: { event: AlertEvent }) {
  const { unit, date } = event.data;
  if (!unit) return <strong>{nameOf(event)}</strong>;
  const named = nameOf(event);
  const [before = '', ...after] = (named.includes(unit.name) ? named : `${named}: ${unit.name}`).split(unit.name);
  return (
    <strong>
      {before}
      <a href={linkTo('unit', unit.id, date ? { day: date } : {})}>{unit.name}</a>
      {after.join(unit.name)}
    </strong>
  );
}

export function AlertsView() {
  const app = useApp();
  const events = useData<{ events: AlertEvent[] }>('/events?limit=100');
  const [problem, setProblem] = useState<Problem>();
  if (!events.data) return <Waiting answer={events} what="what was told" />;
  const answer = async (event: AlertEvent) => {
    setProblem(undefined);
    try {
      await ask(`/events/${event.id}/acknowledge`, { method: 'POST', body: {} });
      await showChange();
    } catch (refused) {
      setProblem(refused as Problem);
    }
  };
  return (
    <>
      <h1>Alerts</h1>
      <p>What was told to those who asked to be told. An alert is no official warning.</p>
      <Subscriptions titles={new Map(events.data.events.map((event) => [event.id, nameOf(event)]))} />
      <Calendars />
      <Trouble problem={problem} />
      {!may(app, 'subscribe') && <p class="note">{refusal(app, 'subscribe')}</p>}
      {events.data.events.length === 0 && <p>Nothing has been told yet.</p>}
      <ul class="plain events">
        {events.data.events.map((event) => (
          <li key={event.id} class="card">
            <div class="heading-row">
              <Title event={event} />
              <span class="quiet">{timeText(event.time, app.zone)}</span>
            </div>
            {(event.data.why ?? []).map((line) => (
              <p key={line}>{line}</p>
            ))}
            {event.acknowledged && (
              <p class="quiet">
                Acknowledged by {event.acknowledged.by}, {timeText(event.acknowledged.at, app.zone)}.
              </p>
            )}
            {event.acknowledged === null && may(app, 'subscribe') && (
              <p>
                <button type="button" onClick={() => void answer(event)}>
                  Acknowledge<span class="unseen"> {nameOf(event)}</span>
                </button>
              </p>
            )}
          </li>
        ))}
      </ul>
    </>
  );
}
