// The shapes of the interface that the page reads. Words may grow: whatever is not known is shown as it stands.
export type Verdict = 'met' | 'near_miss' | 'out' | 'unknown' | 'blocked';
export type HourFit = 'in' | 'out' | 'unknown';

export interface ProblemDetails {
  title: string;
  status: number;
  detail?: string;
  errors?: { pointer?: string; parameter?: string; code?: string; detail?: string; hint?: string }[];
}

export interface Run {
  id: string;
  feed: string;
  reference_time: string;
  received_at: string | null;
  computed_at: string | null;
  next_expected: string | null;
  state: string;
  revision: number;
}

export interface Standing {
  run: Run | null;
  freshness: 'current' | 'late' | 'stale';
  caution: string;
}

export interface Range {
  min?: number;
  max?: number;
  below?: number;
  above?: number;
}

export interface Sector {
  from: number;
  to: number;
}

export interface LimitBounds extends Range {
  sectors?: Sector[];
}

export interface Limit {
  quantity: string;
  scope: string;
  kind: 'stop' | 'hard' | 'preference';
  acceptable?: Range;
  preferred?: Range;
  sectors?: Sector[];
  hours?: number;
  days?: number;
  hours_after?: number;
  allow_hours?: number;
  rain_mm?: number;
}

export interface Prescription {
  limits: Limit[];
  within?: { from: string; to: string };
  latest_start?: string;
  duration_h: number;
  consecutive_days?: number;
  wind_for_direction_kmh?: number;
  confirmed?: { by: string; at: string };
  revision?: number;
  [other: string]: unknown;
}

export interface Edge {
  by: string;
  quantity?: string;
  scope?: string;
  value?: number | null;
  limit?: LimitBounds;
}

export interface Window {
  start: string;
  end: string;
  hours: number;
  fit: number | null;
  unconfirmed: boolean;
  open_ended: boolean;
  latest_light_up: string;
  sunset: string | null;
  opens: Edge;
  closes: Edge;
}

export interface ValueAt {
  quantity: string;
  scope?: string;
  value: number | null;
  at?: string;
  limit?: LimitBounds;
}

export interface Limiting extends ValueAt {
  scope: string;
  margin: number | null;
  margin_errors: number | null;
  gain_h: number | null;
}

export interface Day {
  unit?: string;
  date: string;
  verdict: Verdict;
  rank: number;
  fit: number | null;
  confidence: string;
  members: { met: number; of: number } | null;
  feeds: { feed: string; run: string; verdict: Verdict }[];
  draft: boolean;
  windows: Window[];
  limiting: Limiting | null;
  tail: { verdict: string; worst: ValueAt | null; beyond: ValueAt | null } | null;
  notes: ValueAt[];
  missing: { quantity: string; hours: number; reason: string }[];
  blocked_by: { kind: string; why: string; until: string | null }[];
  parts: { name: string; points: number }[];
  provisional?: string[];
  why: string;
}

export interface UnitDays extends Standing {
  unit: string;
  days: Day[];
  changed?: { date: string; from: Verdict; to: Verdict }[];
  hours?: TrialHours;
}

export type UnitDay = Day & { unit: string };

export interface AllDays extends Standing {
  days: { date: string; units: UnitDay[] }[];
}

export interface LimitFits {
  quantity: string;
  scope: string;
  fit: HourFit[];
}

export interface TrialHours {
  times: string[];
  fit: HourFit[];
  limits: LimitFits[];
}

export interface Column {
  unit: string;
  values: (number | null)[];
  flags: Record<string, [number, number][] | boolean>;
}

// Below which values a tenth and nine tenths of an ensemble's members lie.
export interface MemberSpread {
  p10: (number | null)[];
  p90: (number | null)[];
}

export interface Hours extends Standing {
  unit: string;
  times: string[];
  quantities: Record<string, Column>;
  fit: HourFit[];
  limits?: LimitFits[];
  members?: { of: number; quantities: Record<string, MemberSpread> } | null;
  missing: { quantity: string; from: number; to: number; reason: string }[];
  sampling: { feed: string; lat: number; lon: number; model_elevation_m: number; unit_elevation_m: number }[];
}

export interface Needs {
  crews: number;
  tankers: number;
  aircraft: number;
  plant: number;
  depot?: string;
  travel_h: number;
  patrol_crews: number;
  patrol_days: number;
}

export type Position = [number, number];

export interface Unit {
  id: string;
  geometry: { type: 'Polygon' | 'MultiPolygon'; coordinates: Position[][] | Position[][][] };
  properties: {
    name: string;
    district: string;
    time_zone: string;
    area_ha: number;
    status: string;
    priority?: number;
    elevation_m?: number;
    slope_deg?: number;
    aspect_deg?: number;
    airshed?: string;
    adjacent?: string[];
    after?: { unit: string; days: number }[];
    receptors?: { name: string; kind: string; position: Position }[];
    fuel?: { type: string; age_years?: number };
    needs?: Partial<Needs>;
    notice_days?: number;
    prescription?: Prescription;
  };
}

export interface Units extends Standing {
  features: Unit[];
}

export interface Depot {
  id: string;
  name: string;
  position: Position;
  crews: number;
  tankers: number;
  plant: number;
}

export interface Airshed {
  id: string;
  name: string;
  burns_per_day?: number;
  area_ha_per_day?: number;
}

export interface District {
  id: string;
  name: string;
  time_zone: string;
  bbox?: [number, number, number, number];
  depots?: Depot[];
  shared?: { aircraft?: number };
  readiness?: { free_crews: number; when?: { quantity: string } & Range };
  airsheds?: Airshed[];
  holidays?: { from: string; to: string; name: string }[];
  places?: { name: string; kind: string; position: Position }[];
  map?: { features: MapFeature[]; tiles?: string };
}

export interface MapFeature {
  properties: { kind?: string; name?: string } | null;
  geometry: { type: string; coordinates: unknown };
}

export interface LookAheadDay {
  date?: string;
  ffdi: { value: number; at: string } | null;
  wind_gust: { value: number; at: string } | null;
  relative_humidity: { value: number; at: string } | null;
  wind_change: { wind_shift: number; wind_speed: number; at: string } | null;
  precipitation_amount: number | null;
  missing_hours: number;
  tail: { verdict: string; broken: ValueAt[] } | null;
}

export interface Booking {
  id: string;
  revision: number;
  unit: string;
  date: string;
  state: string;
  by: string;
  based_on?: { run: string | null; prescription_revision: number };
  day?: Day | null;
  lit_at?: string;
  note?: string;
  notices?: unknown[];
  notice?: { due?: string; given?: boolean } | null;
  look_ahead?: { worst: LookAheadDay; days: LookAheadDay[] };
}

export interface Stop {
  id: string;
  scope: { unit?: string; airshed?: string; district?: string };
  from: string;
  to: string;
  kind: string;
  why: string;
}

export interface Feed {
  id: string;
  freshness: 'current' | 'late' | 'stale';
  newest_complete: Run | null;
  age_h: number | null;
  next_expected: string | null;
  trouble: string | null;
  refused: { path: string; size: number; seen_at: string; why: string; hint: string; run: string | null }[];
}

export interface RunRow extends Run {
  published: boolean;
  details: {
    files?: string[];
    lacks?: string[];
    refused?: { variable?: string; why?: string; hint?: string }[];
    notes?: string[];
    timings?: { read_s?: number; judge_s?: number };
  } | null;
}

export interface Status {
  state: string;
  troubles: string[];
  now: string;
  demo: boolean;
  picture: { number: number; made_at: string; judged_at: string };
  progress: { run: string; doing: string; share: number } | null;
  feeds: Feed[];
}

export interface Quantity {
  key: string;
  title: string;
  unit: string;
  model: string;
  source: string;
  equation: string | null;
  domain: string | null;
  near: number;
  status: string;
}

export interface Plan extends Standing {
  burns: { unit: string; date: string; window: Window; needs: Needs }[];
  lost: { unit: string; date: string; why: { kind: string; text: string } }[];
  proven: boolean;
  value: number;
  bound: number;
}

export interface Session {
  actor: string;
  role: 'viewer' | 'officer' | 'coordinator' | 'operator';
  scopes: string[];
  session: { ends_at: string } | null;
}
