// The trade's words for what the interface names by keys, and numbers as they are read out.
import type { Edge, Limit, LimitBounds, Needs, Quantity, Verdict } from './types';

const verdictWords: Record<Verdict, string> = {
  met: 'Met',
  near_miss: 'Near miss',
  unknown: 'Unknown',
  out: 'Out',
  blocked: 'Blocked',
};

export function words(key: string): string {
  const text = key.replaceAll('_', ' ').replaceAll('-', ' ');
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function verdictWord(verdict: string): string {
  return verdictWords[verdict as Verdict] ?? words(verdict);
}

const scopeWords: Record<string, string> = {
  each_hour: 'each hour',
  at_start: 'at the start',
  window_mean: 'mean of the window',
  window_min: 'least of the window',
  window_max: 'most of the window',
  before: 'before the start',
  same_day: 'that day',
  night_after: 'the night after',
  days_after: 'the days after',
};

export function scopeText(limit: { scope: string; days?: number; hours?: number }): string {
  if (limit.scope === 'days_after' && limit.days) return limit.days === 1 ? 'the day after' : `${limit.days} days after`;
  if (limit.scope === 'before' && (limit.hours || limit.days))
    return limit.hours ? `the ${limit.hours} h before` : `the ${limit.days} days before`;
  return scopeWords[limit.scope] ?? words(limit.scope);
}

export function kindText(kind: string): string {
  return kind === 'hard' ? 'limit' : kind;
}

const unitTexts: Record<string, string> = {
  Cel: '°C',
  deg: '°',
  'm2/s': 'm²/s',
  'W/m2': 'W/m²',
  'ug/m3': 'µg/m³',
  '1': '',
};

export function unitText(unit: string): string {
  return unitTexts[unit] ?? unit;
}

// Three figures are as many as a forecast is good for; the whole number where there are more before the point. Written by
// hand, since a browser takes longer to make its first formatter than to draw a screen of the district.
export function number(value: number): string {
  const size = Math.abs(value);
  const [whole = '', part = ''] = size.toFixed(size >= 100 ? 0 : size >= 10 ? 1 : 2).split('.');
  const rest = part.replace(/0+$/, '');
  const text = whole.replace(/\B(?=(\d{3})+$)/g, ',') + (rest && `.${rest}`);
  return value < 0 && text !== '0' ? `−${text}` : text;
}

export function measure(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined) return 'missing';
  const text = unitText(unit);
  return `${number(value)}${text === '°' ? text : text ? ` ${text}` : ''}`;
}

export class Catalogue {
  private readonly rows: Map<string, Quantity>;
  constructor(quantities: Quantity[]) {
    this.rows = new Map(quantities.map((q) => [q.key, q]));
  }
  row(key: string): Quantity | undefined {
    return this.rows.get(key);
  }
  title(key: string): string {
    return this.rows.get(key)?.title ?? words(key);
  }
  unit(key: string): string {
    return this.rows.get(key)?.unit ?? '1';
  }
  measure(key: string, value: number | null | undefined): string {
    return measure(value, this.unit(key));
  }
  // "9 to 16 %", "at least 2,000 m²/s", "from 45° round to 225°"
  bounds(key: string, limit: LimitBounds): string {
    if (limit.sectors) return limit.sectors.map((s) => `from ${s.from}° round to ${s.to}°`).join(', or ');
    const low = limit.min ?? limit.above;
    const high = limit.max ?? limit.below;
    if (low !== undefined && high !== undefined) return `${number(low)} to ${this.measure(key, high)}`;
    if (limit.min !== undefined) return `at least ${this.measure(key, limit.min)}`;
    if (limit.above !== undefined) return `more than ${this.measure(key, limit.above)}`;
    if (limit.max !== undefined) return `at most ${this.measure(key, limit.max)}`;
    if (limit.below !== undefined) return `less than ${this.measure(key, limit.below)}`;
    return 'no bound';
  }
  limit(limit: Limit): string {
    return this.bounds(limit.quantity, { ...limit.acceptable, sectors: limit.sectors });
  }
  // What else than a limit begins or ends a window.
  edge(edge: Edge): string {
    return edgeWords[edge.by] ?? words(edge.by);
  }
}

const edgeWords: Record<string, string> = {
  within: 'the light-up hours',
  latest_start: 'the latest start',
  horizon: 'the end of the forecast',
  missing: 'missing data',
  now: 'the hour that has begun',
};

const reasonWords: Record<string, string> = {
  not_in_feed: 'the feed does not give it',
  gap: 'a gap in the forecast',
  no_state: 'no state to begin from was entered',
  no_parameter: 'the unit lacks a parameter that the model needs',
  no_model: 'there is no model of it for this fuel',
  not_applicable: 'it does not apply to this fuel',
  no_profile: 'the feed gives no profile',
  out_of_domain: 'outside the range of the model’s data',
  not_finite: 'the formula gives no number',
  beyond_horizon: 'beyond the end of the forecast',
  no_limits: 'the prescription has no limits',
};

export function reasonText(reason: string): string {
  return reasonWords[reason] ?? words(reason).toLowerCase();
}

export function plural(count: number, one: string, several = `${one}s`): string {
  return `${count} ${count === 1 ? one : several}`;
}

const stateWords: Record<string, string> = { mop_up: 'in mop-up', lit: 'lit', patrol: 'on patrol' };

export function stateText(state: string): string {
  return stateWords[state] ?? words(state).toLowerCase();
}

export function bookedText(booking: { state: string; by: string }): string {
  return `Booked: ${stateText(booking.state)} by ${booking.by}`;
}

// The means that a burn takes on its day, in words.
export function needsTexts(needs: Partial<Needs>): string[] {
  const { crews = 1, tankers = 0, aircraft = 0, plant = 0 } = needs;
  return [
    plural(crews, 'crew'),
    ...(tankers ? [plural(tankers, 'tanker')] : []),
    ...(aircraft ? [plural(aircraft, 'aircraft', 'aircraft')] : []),
    ...(plant ? [`${plant} plant`] : []),
  ];
}

const compass = ['N', 'NNE', 'NE', 'ENE', 'E', 'ESE', 'SE', 'SSE', 'S', 'SSW', 'SW', 'WSW', 'W', 'WNW', 'NW', 'NNW'];

export function compassPoint(degrees: number): string {
  return compass[Math.round((((degrees % 360) + 360) % 360) / 22.5) % 16] ?? '';
}
