// Who is told of what, by which way, and what became of each message: own subscriptions, and all of them for who may see them.
import { useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { may, refusal, useApp } from './app';
import { showChange } from './live';
import { Trouble, UnitChoice } from './parts';
import { timeText } from './time';
import { useData } from './use_data';
import { plural, words } from './words';

interface Subscription {
  id: string;
  revision: number;
  channel: { kind: 'webhook'; url: string } | { kind: 'email'; address: string };
  events: string[];
  units?: string[];
  quiet?: { from: string; to: string };
  owner: string;
  state: 'pending' | 'active' | 'paused' | 'disabled';
  failing: { since: string; error: string } | null;
}

interface Delivery {
  id: string;
  subscription: string;
  events: string[];
  state: 'pending' | 'sending' | 'retry' | 'delivered' | 'expired' | 'dead';
  escalation: boolean;
  made_at: string;
  attempts: number;
  ended_at: string | null;
  last_error: string | null;
}

const stateText: Record<Subscription['state'], string> = {
  pending: 'Waits until its address has taken a test',
  active: 'Active',
  paused: 'Paused: nothing is sent',
  disabled: 'Its address takes nothing any more',
};

const deliveryText: Record<Delivery['state'], string> = {
  pending: 'waits to be sent',
  sending: 'is being sent',
  retry: 'is tried again',
  delivered: 'was taken',
  expired: 'was never taken, and is over',
  dead: 'could not be sent',
};

const shownAtMost = 5; // messages of a subscription

const addressOf = ({ channel }: Subscription) => (channel.kind === 'email' ? channel.address : channel.url);

// What a message said, by the titles of its events; those that are no longer kept are counted.
function saidText(delivery: Delivery, titles: Map<string, string>): string {
  const known = delivery.events.flatMap((id) => titles.get(id) ?? []);
  const others = delivery.events.length - known.length;
  return [...known, ...(others > 0 ? [plural(others, 'event', 'events') + ' no longer listed here'] : [])].join('; ');
}

type Send = (path: string, options: { method: string; body?: unknown; ifMatch?: string }) => Promise<unknown>;

function Card({ of, deliveries, titles, send }: { of: Subscription; deliveries: Delivery[]; titles: Map<string, string>; send: Send }) {
  const app = useApp();
  const named = <span class="unseen"> {addressOf(of)}</span>;
  const isPaused = of.state === 'paused';
  const put = () => send(`/subscriptions/${of.id}`, { method: 'PUT', body: { ...of, paused: !isPaused }, ifMatch: `"r${of.revision}"` });
  return (
    <li class="card">
      <div class="heading-row">
        <strong>{addressOf(of)}</strong>
        <span class="quiet">{words(of.owner)}</span>
      </div>
      <p>
        {stateText[of.state]}. Hears of {of.events.includes('*') ? 'all that people are told' : of.events.join(', ')}
        {of.units?.length ? ` for ${of.units.map((id) => app.units.get(id)?.properties.name ?? id).join(', ')}` : ''}
        {of.quiet ? `; from ${of.quiet.from} to ${of.quiet.to} of what is urgent only` : ''}.
      </p>
      {of.failing && (
        <p class="note">
          Not reached since {timeText(of.failing.since, app.zone)}: {of.failing.error}
        </p>
      )}
      {deliveries.length > 0 && (
        <ul>
          {deliveries.slice(0, shownAtMost).map((delivery) => (
            <li key={delivery.id}>
              {timeText(delivery.made_at, app.zone)}: {saidText(delivery, titles)}
              {delivery.escalation && ', since nobody had acknowledged it'}: {deliveryText[delivery.state]}
              {delivery.state !== 'delivered' && delivery.last_error ? ` (${delivery.last_error})` : ''}.{' '}
              {delivery.state === 'dead' && may(app, 'subscribe') && (
                <button type="button" onClick={() => void send(`/deliveries/${delivery.id}/retry`, { method: 'POST', body: {} })}>
                  Send again
                </button>
              )}
            </li>
          ))}
        </ul>
      )}
      {deliveries.length === 0 && <p class="quiet">Nothing has been sent to it yet.</p>}
      {may(app, 'subscribe') && (
        <p>
          <button type="button" onClick={() => void put()}>
            {isPaused ? 'Go on' : 'Pause'}
            {named}
          </button>{' '}
          <button type="button" onClick={() => void send(`/subscriptions/${of.id}/test`, { method: 'POST', body: {} })}>
            Send a test{named}
          </button>{' '}
          <button type="button" onClick={() => void send(`/subscriptions/${of.id}`, { method: 'DELETE', ifMatch: `"r${of.revision}"` })}>
            End it{named}
          </button>
        </p>
      )}
    </li>
  );
}

export function Subscriptions({ titles }: { titles: Map<string, string> }) {
  const app = useApp();
  const subscriptions = useData<{ subscriptions: Subscription[] }>('/subscriptions');
  const deliveries = useData<{ deliveries: Delivery[] }>('/deliveries?limit=100');
  const [address, setAddress] = useState('');
  const [unit, setUnit] = useState('');
  const [secret, setSecret] = useState('');
  const [problem, setProblem] = useState<Problem>();
  const send: Send = async (path, options) => {
    setProblem(undefined);
    setSecret('');
    try {
      const answer = await ask<{ secret?: string } | undefined>(path, options);
      setSecret(answer?.secret ?? '');
      await showChange();
      return answer;
    } catch (refused) {
      setProblem(refused as Problem);
      return undefined;
    }
  };
  const subscribe = async (event: Event) => {
    event.preventDefault();
    const to = address.trim();
    const channel = to.startsWith('https://') ? { kind: 'webhook', url: to } : { kind: 'email', address: to };
    const body = { channel, events: ['*'], ...(unit ? { units: [unit] } : { districts: [app.district.id] }) };
    if (await send('/subscriptions', { method: 'POST', body })) setAddress('');
  };
  const all = subscriptions.data?.subscriptions ?? [];
  return (
    <details>
      <summary>Who is told, and what was sent ({all.length})</summary>
      <Trouble problem={problem ?? subscriptions.problem ?? deliveries.problem} />
      {secret && (
        <div class="note" role="status">
          <label class="wide">
            This secret signs what is sent there. It is shown once.
            <input type="text" readOnly value={secret} onFocus={(e) => e.currentTarget.select()} />
          </label>
        </div>
      )}
      {may(app, 'subscribe') ? (
        <form class="store" onSubmit={(event) => void subscribe(event)} aria-label="Ask to be told">
          <label>
            Mail or https address{' '}
            <input type="text" required value={address} onInput={(e) => setAddress(e.currentTarget.value)} />
          </label>{' '}
          <label>
            Hears of{' '}
            <UnitChoice unit={unit} choose={setUnit} />
          </label>{' '}
          <button type="submit">Ask to be told</button>
        </form>
      ) : (
        <p class="note">{refusal(app, 'subscribe')}</p>
      )}
      {subscriptions.data && all.length === 0 && <p>Nobody has asked to be told. What happens stands below all the same.</p>}
      <ul class="plain">
        {all.map((each) => (
          <Card
            key={each.id}
            of={each}
            titles={titles}
            send={send}
            deliveries={(deliveries.data?.deliveries ?? []).filter((d) => d.subscription === each.id)}
          />
        ))}
      </ul>
    </details>
  );
}
