// Feeds: what came, how old it is, what was refused and why, in words.
import { useApp } from './app';
import { Columns, Facts, Waiting } from './parts';
import { ageText, timeText } from './time';
import type { Feed, RunRow } from './types';
import { useData } from './use_data';
import { plural, words } from './words';

const freshText: Record<string, string> = {
  current: 'Current',
  late: 'The next run is late',
  stale: 'Stale: treat every window that rests on it as unconfirmed',
};

function FeedCard({ feed, zone }: { feed: Feed; zone: string }) {
  const run = feed.newest_complete;
  return (
    <section class={`card fresh-${feed.freshness}`} aria-label={`Feed ${feed.id}`}>
      <h2>{feed.id}</h2>
      <Facts
        rows={[
          ['Standing', <b>{freshText[feed.freshness] ?? feed.freshness}</b>],
          ['Newest complete run', run ? `${timeText(run.reference_time, zone)}, ${ageText(feed.age_h ?? 0)}` : 'none yet'],
          ['Came in', run?.received_at && timeText(run.received_at, zone)],
          ['Next expected', feed.next_expected && timeText(feed.next_expected, zone)],
          ['Trouble', feed.trouble],
        ]}
      />
      <h3>Refused</h3>
      {feed.refused.length === 0 ? (
        <p>Nothing of what is kept was refused.</p>
      ) : (
        <ul class="plain">
          {feed.refused.map((file) => (
            <li key={file.path}>
              <strong>{file.path.split('/').pop()}</strong>, seen {timeText(file.seen_at, zone)}: {file.why}
              {file.hint && <div class="quiet">What would do: {file.hint}</div>}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

export function FeedsView() {
  const { zone } = useApp();
  const feeds = useData<{ feeds: Feed[] }>('/feeds');
  const runs = useData<{ runs: RunRow[] }>('/runs');
  if (!feeds.data) return <Waiting answer={feeds} what="the feeds" />;
  return (
    <>
      <h1>Feeds</h1>
      <div class="on-top">
        {feeds.data.feeds.map((feed) => (
          <FeedCard key={feed.id} feed={feed} zone={zone} />
        ))}
      </div>
      <section aria-labelledby="runs-heading">
        <h2 id="runs-heading">Runs</h2>
        <div class="table-frame" tabIndex={0} role="region" aria-label="Runs as a table">
          <table class="rows">
            <Columns names={['Feed', 'Made for', 'State', 'Came in', 'What is to be said of it']} />
            <tbody>
              {(runs.data?.runs ?? []).map((run) => (
                <tr key={run.id}>
                  <th scope="row">{run.feed}</th>
                  <td class="time">
                    {timeText(run.reference_time, zone)}
                    {run.revision > 1 && ` (revision ${run.revision})`}
                  </td>
                  <td class="time">
                    <b>{words(run.state)}</b>
                    {run.published ? ', in use' : ', not in use'}
                  </td>
                  <td class="time">{run.received_at ? timeText(run.received_at, zone) : '–'}</td>
                  <td>
                    {(run.details?.lacks ?? []).map((lack) => (
                      <div key={lack}>
                        <b>Lacks</b> {lack}
                      </div>
                    ))}
                    {(run.details?.refused ?? []).map((r, i) => (
                      <div key={i}>
                        <b>Refused</b> {[r.variable, r.why].filter(Boolean).join(': ')}
                        {r.hint && ` (${r.hint})`}
                      </div>
                    ))}
                    {(run.details?.notes ?? []).length > 0 && (
                      <details>
                        <summary>{plural(run.details!.notes!.length, 'note')} on reading</summary>
                        <ul>
                          {run.details!.notes!.map((note) => (
                            <li key={note}>{note}</li>
                          ))}
                        </ul>
                      </details>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </section>
    </>
  );
}
