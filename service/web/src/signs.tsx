// The signs of verdicts, hours and freshness: each a shape of its own, so that they are told apart without colour.
import type { HourFit, Verdict } from './types';
import { verdictWord } from './words';

const shapes: Record<Verdict, preact.JSX.Element> = {
  met: <circle cx="8" cy="8" r="6" fill="currentColor" />,
  near_miss: (
    <>
      <circle cx="8" cy="8" r="5.2" fill="none" stroke="currentColor" stroke-width="1.6" />
      <path d="M2.8 8a5.2 5.2 0 0 0 10.4 0z" fill="currentColor" />
    </>
  ),
  unknown: (
    <>
      <circle cx="8" cy="8" r="6.2" fill="none" stroke="currentColor" stroke-width="1.3" stroke-dasharray="2 1.6" />
      <path d="M6 6.4a2 2 0 1 1 2.7 1.9c-.5.2-.7.5-.7 1v.3M8 11.2v.3" fill="none" stroke="currentColor" stroke-width="1.5" stroke-linecap="round" />
    </>
  ),
  out: <path d="M4 4l8 8M12 4l-8 8" stroke="currentColor" stroke-width="1.7" stroke-linecap="round" />,
  blocked: (
    <>
      <rect x="2.2" y="2.2" width="11.6" height="11.6" fill="none" stroke="currentColor" stroke-width="1.6" />
      <path d="M2.5 8h11" stroke="currentColor" stroke-width="3" />
    </>
  ),
};

export function Sign({ verdict }: { verdict: Verdict }) {
  return (
    <svg class="sign" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" focusable="false">
      {shapes[verdict] ?? shapes.unknown}
    </svg>
  );
}

export function VerdictMark({ verdict, small }: { verdict: Verdict; small?: boolean }) {
  return (
    <span class={`verdict is-${verdict}${small ? ' small' : ''}`}>
      <Sign verdict={verdict} /> <span>{verdictWord(verdict)}</span>
    </span>
  );
}

export const hourSigns: Record<HourFit, string> = { in: '■', out: '×', unknown: '?' };

export function Key() {
  return (
    <ul class="key" aria-label="Key to the signs">
      {(['met', 'near_miss', 'unknown', 'out', 'blocked'] as Verdict[]).map((v) => (
        <li key={v}>
          <VerdictMark verdict={v} small />
        </li>
      ))}
    </ul>
  );
}
