// Map: units with the verdict of a day, where their smoke drifts hour by hour and whom it would lie over. Drawn without tiles,
// from the operator's own lines; what it shows stands in the list beside it too.
import L from 'leaflet';
import 'leaflet/dist/leaflet.css';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { linkTo, setQuery, unitName, useApp, type App } from './app';
import { dateShown, mayBurn } from './days';
import { NoDays, Trouble, Waiting } from './parts';
import { paths, type Place } from './place';
import { Key, Sign, VerdictMark } from './signs';
import { clock, dateText, dayBegin, nextDate, spanText } from './time';
import type { AllDays, Hours, Position, Unit, Verdict } from './types';
import { useData } from './use_data';
import { compassPoint, measure, plural, verdictWord, words } from './words';

type LatLng = [number, number];

function rings(unit: Unit): Position[][] {
  const { geometry } = unit;
  return geometry.type === 'Polygon' ? (geometry.coordinates as Position[][]) : (geometry.coordinates as Position[][][]).flat();
}

function centre(unit: Unit): LatLng {
  const points = rings(unit)[0] ?? [];
  const mean = (k: 0 | 1) => points.reduce((sum, p) => sum + p[k], 0) / Math.max(points.length, 1);
  return [mean(1), mean(0)];
}

// Of how many units the service gives hours at a time.
const unitsAtMost = 200;

const kmPerDegree = 111.2;
const radians = (degrees: number) => (degrees * Math.PI) / 180;

function bearingAndKm(from: LatLng, to: LatLng): { bearing: number; km: number } {
  const north = (to[0] - from[0]) * kmPerDegree;
  const east = (to[1] - from[1]) * kmPerDegree * Math.cos(radians(from[0]));
  return { bearing: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360, km: Math.hypot(north, east) };
}

// The sector is drawn as wide as the service counts it by stability class (A to F).
const halfWidths = [50, 40, 30, 22.5, 22.5, 22.5];
const drawnKm = 6;

function wedge(from: LatLng, bearing: number, half: number): LatLng[] {
  const points: LatLng[] = [from];
  for (let a = bearing - half; a <= bearing + half + 0.01; a += half / 8)
    points.push([
      from[0] + (drawnKm / kmPerDegree) * Math.cos(radians(a)),
      from[1] + (drawnKm / kmPerDegree / Math.cos(radians(from[0]))) * Math.sin(radians(a)),
    ]);
  return points;
}

// The outline around places, some way out from them.
function outline(places: LatLng[], out = 0.022): LatLng[] {
  const points = places.flatMap(([lat, lon]) =>
    Array.from({ length: 12 }, (_, k): LatLng => [lat + out * Math.sin(radians(k * 30)), lon + (out / Math.cos(radians(lat))) * Math.cos(radians(k * 30))]),
  );
  points.sort((a, b) => a[1] - b[1] || a[0] - b[0]);
  const half = (list: LatLng[]) => {
    const hull: LatLng[] = [];
    for (const p of list) {
      while (hull.length > 1) {
        const [a, b] = [hull[hull.length - 2]!, hull[hull.length - 1]!];
        if ((b[1] - a[1]) * (p[0] - a[0]) - (b[0] - a[0]) * (p[1] - a[1]) > 0) break;
        hull.pop();
      }
      hull.push(p);
    }
    return hull.slice(0, -1);
  };
  return [...half(points), ...half([...points].reverse())];
}

interface Drift {
  bearing: number | null;
  half: number;
  receptors: number | null;
  names: string[]; // of the receptors counted, where the drawing and the count agree
  wind: number | null;
}

function driftOf(unit: Unit, hours: Hours | undefined, at: number): Drift | null {
  const i = hours?.times.findIndex((t) => Date.parse(t) === at) ?? -1;
  if (!hours || i < 0) return null;
  const value = (key: string) => hours.quantities[key]?.values[i] ?? null;
  const bearing = value('smoke_bearing');
  const half = halfWidths[(value('stability_class') ?? 0) - 1] ?? 22.5;
  const from = centre(unit);
  const names =
    bearing === null
      ? []
      : (unit.properties.receptors ?? [])
          .filter((r) => {
            const turn = Math.abs(((bearingAndKm(from, [r.position[1], r.position[0]]).bearing - bearing + 540) % 360) - 180);
            return turn <= half;
          })
          .map((r) => r.name);
  const receptors = value('receptors_under_smoke');
  return { bearing, half, receptors, names: names.length === receptors ? names : [], wind: value('transport_wind_speed') };
}

function driftText(drift: Drift | null): string {
  if (!drift || drift.bearing === null) return 'drift of the smoke unknown or variable';
  const under =
    drift.receptors === null
      ? 'places under it unknown'
      : drift.receptors === 0
        ? 'no listed place under it'
        : `${plural(drift.receptors, 'place')} under it${drift.names.length ? `: ${drift.names.join(', ')}` : ''}`;
  return `smoke towards ${compassPoint(drift.bearing)} (${Math.round(drift.bearing)}°)${drift.wind === null ? '' : `, transport wind ${measure(drift.wind, 'km/h')}`}; ${under}`;
}

// As the map's marks can hold them.
const letterSigns: Record<Verdict, string> = { met: '●', near_miss: '◒', unknown: '?', out: '×', blocked: '⊟' };

// A unit's name stands on the side where no other unit lies close by.
function nameSide(unit: Unit, app: App): { direction: L.Direction; offset: [number, number] } {
  const here = centre(unit);
  let nearest = { bearing: 0, km: Infinity };
  for (const other of app.units.values()) {
    if (other === unit) continue;
    const way = bearingAndKm(here, centre(other));
    if (way.km < nearest.km) nearest = way;
  }
  return nearest.bearing < 180 ? { direction: 'left', offset: [-10, 0] } : { direction: 'right', offset: [10, 0] };
}

// Everything that does not change with day or hour.
function drawGround(map: L.Map, app: App): void {
  for (const feature of app.district.map?.features ?? []) {
    const kind = feature.properties?.kind ?? 'line';
    const layer = L.geoJSON(feature as never, { interactive: false, style: { className: `ground ground-${kind}`, fill: false } }).addTo(map);
    const name = feature.properties?.name;
    if (name && kind !== 'coast') {
      const centreOf = layer.getBounds().getCenter();
      L.tooltip({ permanent: true, direction: kind === 'water' ? 'bottom' : 'center', className: 'ground-name', interactive: false }).setLatLng(centreOf).setContent(name).addTo(map);
    }
  }
  if (app.district.map?.tiles) L.tileLayer(app.district.map.tiles).addTo(map);
  for (const place of app.district.places ?? [])
    L.marker([place.position[1], place.position[0]], {
      interactive: place.kind !== 'town',
      keyboard: false,
      icon: L.divIcon({ className: `place place-${place.kind}`, html: '', iconSize: [9, 9] }),
    })
      .bindTooltip(place.name, { permanent: place.kind === 'town', direction: 'right', className: 'place-name', offset: [4, 0] })
      .addTo(map);
}

function drawTies(layer: L.LayerGroup, app: App): void {
  const units = [...app.units.values()];
  for (const airshed of app.district.airsheds ?? []) {
    const members = units.filter((u) => u.properties.airshed === airshed.id);
    if (members.length === 0) continue;
    const around = outline(members.map(centre));
    const top = around.reduce((a, b) => (b[0] > a[0] ? b : a));
    L.polygon(around, { className: 'airshed', interactive: false }).addTo(layer);
    // Above its edge, where no unit's name is in the way.
    L.tooltip({ permanent: true, direction: 'top', className: 'airshed-name', interactive: false })
      .setLatLng(top)
      .setContent(`Airshed ${airshed.name}`)
      .addTo(layer);
  }
  const tie = (from: Unit, to: string, className: string) => {
    const other = app.units.get(to);
    if (other) L.polyline([centre(from), centre(other)], { className, interactive: false }).addTo(layer);
  };
  for (const unit of units) {
    for (const id of unit.properties.adjacent ?? []) if (unit.id < id) tie(unit, id, 'tie tie-adjacent');
    for (const after of unit.properties.after ?? []) tie(unit, after.unit, 'tie tie-after');
  }
}

export function MapView({ place }: { place: Place }) {
  const app = useApp();
  const answer = useData<AllDays>(paths.days(app.district.id));
  const days = answer.data?.days ?? [];
  const date = dateShown(days, place.query.get('day'));
  const ranked = days.find((d) => d.date === date)?.units ?? [];
  // Of very many those that stand first on the day; sorted, so that a new order alone asks for nothing.
  const drawn = ranked.slice(0, unitsAtMost).map((u) => u.unit).sort();
  const hours = useData<{ units: Hours[] }>(
    drawn.length > 0
      ? `/hours?units=${drawn.join(',')}&quantities=smoke_bearing,stability_class,receptors_under_smoke,transport_wind_speed&from=${date}&to=${nextDate(date)}`
      : null,
  );
  const [hour, setHour] = useState(13);
  const [picked, setPicked] = useState(place.query.get('unit') ?? '');
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<L.Map | null>(null);
  const layer = useRef<L.LayerGroup | null>(null);

  const starts = useMemo(() => {
    if (!date) return [];
    const begin = dayBegin(date, app.zone).getTime();
    const end = dayBegin(nextDate(date), app.zone).getTime() + 8 * 3_600_000;
    return Array.from({ length: (end - begin) / 3_600_000 }, (_, k) => begin + k * 3_600_000);
  }, [date, app.zone]);
  const at = starts[Math.min(hour, starts.length - 1)] ?? 0;
  const dayOf = new Map(ranked.map((u) => [u.unit, u]));
  const byUnit = new Map<string, Hours>((hours.data?.units ?? []).map((h): [string, Hours] => [h.unit, h]));
  // Hours that were not read are no unknown wind.
  const driftSaid = (unit: Unit) => {
    if (byUnit.has(unit.id)) return driftText(driftOf(unit, byUnit.get(unit.id), at));
    if (hours.problem) return 'drift of the smoke could not be read';
    return hours.loading ? 'drift of the smoke is being read' : `drift of the smoke is drawn for the first ${unitsAtMost} units of the day`;
  };
  const drifts = (id: string) => {
    const day = dayOf.get(id);
    return picked ? id === picked : day !== undefined && mayBurn(day);
  };

  useEffect(() => {
    if (!box.current) return;
    if (!map.current) {
      const made = L.map(box.current, { attributionControl: false, zoomSnap: 0.25, fadeAnimation: false, zoomAnimation: false });
      const box4 = app.district.bbox;
      const all = [...app.units.values()].map(centre);
      made.fitBounds(all.length ? L.latLngBounds(all).pad(0.07) : L.latLngBounds([box4![1], box4![0]], [box4![3], box4![2]]));
      drawGround(made, app);
      map.current = made;
      layer.current = L.layerGroup().addTo(made);
    }
    const shown = layer.current!;
    shown.clearLayers();
    drawTies(shown, app);
    for (const unit of app.units.values()) {
      const verdict = dayOf.get(unit.id)?.verdict ?? 'unknown';
      const drift = driftOf(unit, byUnit.get(unit.id), at);
      if (drifts(unit.id) && drift && drift.bearing !== null)
        L.polygon(wedge(centre(unit), drift.bearing, drift.half), { className: 'drift', interactive: false }).addTo(shown);
      L.polygon(
        rings(unit).map((ring) => ring.map(([lon, lat]): LatLng => [lat, lon])),
        { className: `map-unit shape-${verdict}${unit.id === picked ? ' picked' : ''}` },
      )
        .on('click', () => setPicked(unit.id))
        .addTo(shown);
      L.marker(centre(unit), {
        keyboard: false,
        icon: L.divIcon({ className: `map-sign is-${verdict}`, html: letterSigns[verdict] ?? '?', iconSize: [20, 20] }),
      })
        .bindTooltip(unit.properties.name, { permanent: true, className: `unit-name${unit.id === picked ? ' picked' : ''}`, ...nameSide(unit, app) })
        .on('click', () => setPicked(unit.id))
        .addTo(shown);
    }
  }, [app, answer.data, hours.data, date, at, picked]);
  useEffect(() => () => void map.current?.remove(), []);

  if (!answer.data) return <Waiting answer={answer} what="the map" />;
  if (!date) return <NoDays />;
  const span = at ? spanText(new Date(at), new Date(at + 3_600_000), app.zone) : '';
  return (
    <>
      <div class="heading-row">
        <h1>Map, {dateText(date)}</h1>
        <Key />
      </div>
      <div class="map-controls">
        <label>
          Day{' '}
          <select value={date} onChange={(e) => setQuery(place, { day: e.currentTarget.value })}>
            {days.map((d) => (
              <option key={d.date} value={d.date}>
                {dateText(d.date)}
              </option>
            ))}
          </select>
        </label>
        <label class="hour-slider">
          Hour{' '}
          <input
            type="range"
            min="0"
            max={starts.length - 1}
            value={Math.min(hour, starts.length - 1)}
            aria-valuetext={span}
            onInput={(e) => setHour(e.currentTarget.valueAsNumber)}
          />{' '}
          <output>{span}</output>
        </label>
        {picked && (
          <button type="button" onClick={() => setPicked('')}>
            Drift of all that may burn
          </button>
        )}
      </div>
      <div class="map-columns">
        <div>
          <div class="map" ref={box} role="application" aria-label={`Map of ${app.district.name}; what it shows stands in the list beside it`} />
          <svg width="0" height="0" aria-hidden="true" class="patterns">
            <defs>
              <pattern id="hatch-near" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
                <rect width="7" height="7" class="near-ground" />
                <rect width="1.6" height="7" class="near-line" />
              </pattern>
              <pattern id="hatch-unknown" width="6" height="6" patternUnits="userSpaceOnUse">
                <rect width="6" height="6" class="unknown-ground" />
                <circle cx="3" cy="3" r="1.2" class="unknown-line" />
              </pattern>
              <pattern id="hatch-blocked" width="5" height="5" patternUnits="userSpaceOnUse">
                <rect width="5" height="5" class="blocked-ground" />
                <rect width="1.6" height="5" class="blocked-line" />
              </pattern>
            </defs>
          </svg>
          <ul class="key" aria-label="Key to the lines">
            <li>
              <span class="swatch drift-swatch" /> drift of the smoke, {drawnKm} km of it
            </li>
            <li>
              <span class="line-swatch dashed" /> airshed
            </li>
            <li>
              <span class="line-swatch" /> not in one season
            </li>
            <li>
              <span class="line-swatch dotted" /> one after the other
            </li>
          </ul>
          <p class="quiet">
            Wind in valleys, on coasts and under canopy can differ greatly from the model. Which houses will be smoked is not known here.
          </p>
        </div>
        <section class="card" aria-labelledby="map-list">
          <h2 id="map-list">Units at this hour</h2>
          <Trouble problem={hours.problem} />
          <ul class="plain map-list">
            {ranked.map((u) => {
              const unit = app.units.get(u.unit);
              return (
                <li key={u.unit} class={u.unit === picked ? 'picked' : ''}>
                  <button type="button" aria-pressed={u.unit === picked} onClick={() => setPicked(u.unit === picked ? '' : u.unit)}>
                    <Sign verdict={u.verdict} /> {unitName(app, u.unit)}
                  </button>{' '}
                  <span class="unseen">{verdictWord(u.verdict)}</span>
                  <span class="quiet">{unit && driftSaid(unit)}</span>
                  {u.unit === picked && unit && (
                    <p>
                      <VerdictMark verdict={u.verdict} small /> {u.why}. Airshed {words(unit.properties.airshed ?? 'none')}.{' '}
                      {(unit.properties.adjacent ?? []).length > 0 &&
                        `Not in one season with ${unit.properties.adjacent!.map((id) => unitName(app, id)).join(', ')}. `}
                      {(unit.properties.after ?? []).map((a) => `Only ${plural(a.days, 'day')} after ${unitName(app, a.unit)}. `)}
                      <a href={linkTo('unit', u.unit, { day: date })}>Hours and prescription</a>
                    </p>
                  )}
                </li>
              );
            })}
          </ul>
          <p class="quiet">{at ? `From ${clock(new Date(at), app.zone)}.` : ''} Places under the smoke rest on a provisional model.</p>
        </section>
      </div>
    </>
  );
}
