// What stands above everything else: how old the forecast is, what people forbid, and what burns.
import { useEffect, useRef } from 'preact/hooks';
import type { Answer } from './api';
import { linkTo, unitName, unitZone, useApp } from './app';
import { isOpenBurn } from './days';
import { pause, resume, serviceNow, useLive } from './live';
import { Waiting } from './parts';
import { ageText, dateOrTimeText, localDate, timeText } from './time';
import type { Booking, Feed, Stop } from './types';
import { plural, stateText, words } from './words';

const freshWords: Record<string, string> = { current: 'current', late: 'next run late', stale: 'stale' };

function FeedAge({ feed, zone }: { feed: Feed; zone: string }) {
  const run = feed.newest_complete;
  return (
    <li class={`fresh-${feed.freshness}`}>
      <strong>{feed.id}</strong>{' '}
      {run ? (
        <>
          <span class="run-time">run of {timeText(run.reference_time, zone)}, </span>
          {ageText((serviceNow().getTime() - Date.parse(run.reference_time)) / 3_600_000)}, <b>{freshWords[feed.freshness] ?? feed.freshness}</b>
        </>
      ) : (
        <b>no run yet</b>
      )}
    </li>
  );
}

// Always in sight: the service's clock, the age of each feed's run, and whether the page is up to date.
export function StandingBar() {
  const app = useApp();
  const live = useLive();
  const feeds = live.status?.feeds ?? [];
  const bar = useRef<HTMLDivElement>(null);
  // Heads of tables stay in sight below it, however many lines it takes.
  useEffect(() => {
    const resized = new ResizeObserver(() =>
      document.documentElement.style.setProperty('--standing-height', `${bar.current?.offsetHeight ?? 0}px`),
    );
    if (bar.current) resized.observe(bar.current);
    return () => resized.disconnect();
  }, []);
  return (
    <div class="standing" role="region" aria-label="Age of the forecast" ref={bar}>
      <span class="now">{timeText(serviceNow(), app.zone)}</span>
      <ul>
        {feeds.map((feed) => (
          <FeedAge key={feed.id} feed={feed} zone={app.zone} />
        ))}
      </ul>
      <span class="live">
        <span>
          {live.mode === 'paused' ? 'Updates paused' : live.mode === 'unreachable' ? 'Service not reached' : live.unread ? 'Not all up to date' : 'Up to date'}
        </span>
        <button type="button" onClick={() => (live.mode === 'paused' ? resume() : pause())}>
          {live.mode === 'paused' ? 'Update again' : 'Pause'}
        </button>
      </span>
    </div>
  );
}

// What makes every window doubtful, said once and large.
export function Banners() {
  const app = useApp();
  const live = useLive();
  const stale = (live.status?.feeds ?? []).filter((f) => f.freshness === 'stale' || !f.newest_complete);
  return (
    <>
      {live.mode === 'unreachable' && (
        <div class="banner" role="alert">
          <strong>The service cannot be reached.</strong> What stands here is what it said last, and may be out of date.
        </div>
      )}
      {live.mode !== 'unreachable' && live.unread && (
        <div class="banner" role="alert">
          <strong>Part of this page could not be read anew.</strong> {live.unread.message} What stands here may be older than the ages above; it
          is asked for again.
        </div>
      )}
      {stale.length > 0 && (
        <div class="banner" role="alert">
          <strong>The forecast is stale.</strong> {stale.map((f) => f.id).join(' and ')}{' '}
          {stale.length === 1 ? 'has' : 'have'} no recent run: treat every window that rests on {stale.length === 1 ? 'it' : 'them'} as
          unconfirmed. <a href={linkTo('feeds')}>What came and what was refused</a>
        </div>
      )}
      {(live.status?.troubles ?? []).map((trouble) => (
        <div class="banner" role="alert" key={trouble}>
          <strong>The service is in trouble.</strong> {trouble}
        </div>
      ))}
      {app.isDemo && <p class="demo-line">Demo data. Fictional district. Everybody at this machine acts as coordinator.</p>}
    </>
  );
}

function scopeOf(stop: Stop, name: (id: string) => string): string {
  if (stop.scope.unit) return name(stop.scope.unit);
  if (stop.scope.airshed) return `airshed ${words(stop.scope.airshed)}`;
  return 'the whole district';
}

const stopWords: Record<string, string> = { declared_ban: 'Declared ban', event: 'Event', period: 'Closed period', other: 'Stop' };

function stopSpan(stop: Stop, zone: string): string {
  const [from, to] = [dateOrTimeText(stop.from, zone), dateOrTimeText(stop.to, zone)];
  return from === to ? from : `${from} to ${to}`;
}

// What is over forbids nothing any more, and its date, which tells no year, would read as one to come.
function isOver(stop: Stop, zone: string): boolean {
  return stop.to.length === 10 ? stop.to < localDate(serviceNow(), zone) : Date.parse(stop.to) <= serviceNow().getTime();
}

export function Stops({ answer }: { answer: Answer<{ stops: Stop[] }> }) {
  const app = useApp();
  const stops = answer.data?.stops.filter((stop) => !isOver(stop, app.zone));
  return (
    <section class="card" aria-labelledby="stops-heading">
      <h2 id="stops-heading">Stops</h2>
      {!stops ? (
        <Waiting answer={answer} what="the stops" />
      ) : stops.length === 0 ? (
        <p>None entered here, which is not the same as none declared.</p>
      ) : (
        <ul class="plain">
          {stops.map((stop) => (
            <li key={stop.id}>
              <strong>{stopWords[stop.kind] ?? words(stop.kind)}</strong>, {stopSpan(stop, app.zone)}: {stop.why} (
              {scopeOf(stop, (id) => unitName(app, id))})
            </li>
          ))}
        </ul>
      )}
      <p class="quiet">Check bans, restricted or prohibited periods and permits with the declaring authority.</p>
    </section>
  );
}

// The worst that a forecast brings to what burns: most escapes were set up after the ignition hours.
export function OpenBurns({ answer }: { answer: Answer<{ bookings: Booking[] }> }) {
  const app = useApp();
  const open = (answer.data?.bookings ?? []).filter(isOpenBurn);
  return (
    <section class="card" aria-labelledby="open-heading">
      <h2 id="open-heading">Open burns</h2>
      {!answer.data && <Waiting answer={answer} what="the bookings" />}
      {answer.data && open.length === 0 && <p>Nothing is lit, in mop-up or on patrol.</p>}
      {open.map((b) => {
        const worst = b.look_ahead?.worst;
        const zone = unitZone(app, b.unit);
        const change = worst?.wind_change;
        return (
          <div key={b.id} class={worst?.tail?.verdict === 'out' ? 'open-burn danger' : 'open-burn'}>
            <p>
              <a href={linkTo('unit', b.unit)}>
                <strong>{unitName(app, b.unit)}</strong>
              </a>{' '}
              {stateText(b.state)}
              {b.lit_at && <>, lit {timeText(b.lit_at, zone)}</>}.
              {worst?.tail?.verdict === 'out' && <strong> Its tail limits will be broken:</strong>}
            </p>
            {worst && (
              <ul class="inline">
                {worst.ffdi && (
                  <li>
                    calculated FFDI {Math.round(worst.ffdi.value)} on {timeText(worst.ffdi.at, zone)}
                  </li>
                )}
                {worst.wind_gust && (
                  <li>
                    gust {Math.round(worst.wind_gust.value)} km/h on {timeText(worst.wind_gust.at, zone)}
                  </li>
                )}
                {worst.relative_humidity && (
                  <li>
                    humidity down to {Math.round(worst.relative_humidity.value)} % on {timeText(worst.relative_humidity.at, zone)}
                  </li>
                )}
                {change && (
                  <li>
                    wind change by {Math.round(change.wind_shift)}° with {Math.round(change.wind_speed)} km/h on {timeText(change.at, zone)}
                  </li>
                )}
                {worst.missing_hours > 0 && <li>{plural(worst.missing_hours, 'hour')} of the look-ahead missing</li>}
              </ul>
            )}
          </div>
        );
      })}
    </section>
  );
}

