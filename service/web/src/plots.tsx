// Plots of what a prescription limits: the hours that decide, feeds beside each other and members as a band, with the acceptable
// and preferred ranges behind them.
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type uPlotClass from 'uplot';
import { useApp } from './app';
import type { Span } from './strip';
import { clock, dateText, localDate } from './time';
import type { Day, Hours, Limit, MemberSpread, Prescription, Range } from './types';
import { useData } from './use_data';
import { measure, number, unitText } from './words';

type Series = { name: string; values: (number | null)[] };

interface Quantity {
  key: string;
  limits: Limit[];
}

// Each limited quantity once, in the order of the prescription, the limiting one first.
function limited(prescription: Prescription, day: Day): Quantity[] {
  const found = new Map<string, Quantity>();
  for (const limit of prescription.limits) {
    const one = found.get(limit.quantity) ?? { key: limit.quantity, limits: [] };
    one.limits.push(limit);
    found.set(limit.quantity, one);
  }
  return [...found.values()].sort((a, b) => Number(b.key === day.limiting?.quantity) - Number(a.key === day.limiting?.quantity));
}

const dashes = [[], [6, 4], [2, 3], [8, 3, 2, 3]];

function colours(element: Element) {
  const style = getComputedStyle(element);
  const colour = (name: string) => style.getPropertyValue(name).trim();
  return { ink: colour('--ink'), quiet: colour('--quiet'), line: colour('--line'), acceptable: colour('--acceptable'), preferred: colour('--preferred'), plot: colour('--plot'), members: colour('--members') };
}

function rangesOf(limits: Limit[], which: 'acceptable' | 'preferred'): [number, number][] {
  return limits.flatMap((limit): [number, number][] => {
    if (limit.sectors && which === 'acceptable') return limit.sectors.flatMap((s): [number, number][] => (s.from <= s.to ? [[s.from, s.to]] : [[s.from, 360], [0, s.to]]));
    const range: Range | undefined = limit[which];
    if (!range) return [];
    const low = range.min ?? range.above;
    const high = range.max ?? range.below;
    return low === undefined && high === undefined ? [] : [[low ?? -Infinity, high ?? Infinity]];
  });
}

// One limit's band is enough of a picture: the one the hours of ignition are held against, else the first.
function shownLimit(limits: Limit[]): Limit[] {
  const hourly = limits.filter((l) => l.scope === 'each_hour' && l.kind !== 'preference');
  return hourly.length ? hourly.slice(0, 1) : limits.slice(0, 1);
}

// Where eight in ten members lie, as stretches of hours that all have it: filled between the two, with a line along each.
function drawMembers(u: uPlotClass, times: number[], { p10, p90 }: MemberSpread, colour: string): void {
  const { ctx } = u;
  const x = (i: number) => u.valToPos(times[i]!, 'x', true);
  const y = (value: number) => u.valToPos(value, 'y', true);
  const isThere = (i: number) => i < times.length && p10[i] !== null && p10[i] !== undefined && p90[i] !== null;
  ctx.save();
  ctx.fillStyle = ctx.strokeStyle = colour;
  ctx.lineWidth = devicePixelRatio;
  for (let from = 0; from < times.length; ++from) {
    if (!isThere(from)) continue;
    let to = from;
    while (isThere(to + 1)) ++to;
    const along = (values: (number | null)[], hours: number[]) => hours.map((i): [number, number] => [x(i), y(values[i]!)]);
    const hours = Array.from({ length: to - from + 1 }, (_, k) => from + k);
    const [low, high] = [along(p10, hours), along(p90, hours)];
    const path = (points: [number, number][]) => {
      ctx.beginPath();
      for (const [px, py] of points) ctx.lineTo(px, py);
    };
    path([...low, ...high.reverse()]);
    ctx.globalAlpha = 0.3;
    ctx.fill();
    ctx.globalAlpha = 1;
    for (const edge of [low, high]) {
      path(edge);
      ctx.stroke();
    }
    from = to;
  }
  ctx.restore();
}

interface PlotProps {
  quantity: Quantity;
  times: number[];
  series: Series[];
  members: MemberSpread | undefined;
  windows: [number, number][];
  zone: string;
  day: Day;
  unit: string;
}

function Plot({ quantity, times, series, members, windows, zone, unit, day }: PlotProps) {
  const { catalogue } = useApp();
  const box = useRef<HTMLDivElement>(null);
  const isDirection = unit === 'deg' && quantity.key !== 'wind_shift';
  const limits = shownLimit(quantity.limits);
  const values = [...series.map((s) => s.values), members?.p10 ?? [], members?.p90 ?? []].flat().filter((v): v is number => v !== null);
  const [least, most] = [Math.min(...values), Math.max(...values)];
  const title = catalogue.title(quantity.key);
  const needs = limits[0] ? catalogue.limit(limits[0]) : '';
  const summary = values.length
    ? `${title}, ${dateText(day.date)} and its tail: ${measure(least, unit)} to ${measure(most, unit)}; needs ${needs}.`
    : `${title}: no values in these hours.`;

  useEffect(() => {
    let plot: uPlotClass | undefined;
    let gone = false;
    const draw = async () => {
      const { default: UPlot } = await import('uplot');
      const host = box.current;
      if (gone || !host) return;
      plot?.destroy();
      const c = colours(host);
      const bounds = rangesOf(limits, 'acceptable').flat().filter(Number.isFinite);
      const all = [...values, ...bounds];
      const pad = (Math.max(...all) - Math.min(...all)) * 0.06 || 1;
      const range: [number, number] = isDirection ? [0, 360] : all.length ? [Math.min(...all) - pad, Math.max(...all) + pad] : [0, 1];
      const bands = (u: uPlotClass) => {
        const { ctx, bbox } = u;
        const fill = (from: number, to: number, colour: string) => {
          const top = Math.max(u.valToPos(Math.min(to, range[1]), 'y', true), bbox.top);
          const bottom = Math.min(u.valToPos(Math.max(from, range[0]), 'y', true), bbox.top + bbox.height);
          ctx.fillStyle = colour;
          if (bottom > top) ctx.fillRect(bbox.left, top, bbox.width, bottom - top);
          for (const bound of [from, to]) {
            if (bound < range[0] || bound > range[1]) continue;
            const y = u.valToPos(bound, 'y', true);
            ctx.fillStyle = c.quiet;
            ctx.fillRect(bbox.left, y, bbox.width, devicePixelRatio);
          }
        };
        for (const [from, to] of rangesOf(limits, 'acceptable')) fill(from, to, c.acceptable);
        for (const [from, to] of rangesOf(limits, 'preferred')) fill(from, to, c.preferred);
        ctx.fillStyle = c.ink;
        for (const [from, to] of windows) {
          const left = u.valToPos(from, 'x', true);
          ctx.fillRect(left, bbox.top, u.valToPos(to, 'x', true) - left, 3 * devicePixelRatio);
        }
      };
      const lines = series.map((s, i): uPlotClass.Series => {
        const stroke = i === 0 ? c.plot : c.quiet;
        return {
          label: s.name,
          stroke,
          width: i === 0 ? 2 : 1.3,
          dash: dashes[i % dashes.length]!,
          paths: isDirection ? () => null : undefined,
          points: { show: isDirection, size: i === 0 ? 5 : 3.5, stroke, fill: i === 0 ? stroke : 'transparent' },
        };
      });
      const axis = { stroke: c.ink, grid: { stroke: c.line, width: 1 }, ticks: { stroke: c.line, width: 1 }, font: '12px system-ui, sans-serif' };
      plot = new UPlot(
        {
          width: host.clientWidth,
          height: 150,
          legend: { show: false },
          cursor: { show: false },
          scales: { x: { time: false }, y: { range } },
          series: [{}, ...lines],
          hooks: { drawClear: [bands, (u) => members && drawMembers(u, times, members, c.members)] },
          axes: [
            {
              ...axis,
              // Every six hours by the clock of the unit, whatever the clock does in between.
              splits: () => times.filter((t) => Number(clock(new Date(t * 1000), zone).slice(0, 2)) % (times.length > 60 ? 12 : 6) === 0 && clock(new Date(t * 1000), zone).endsWith('00')),
              values: (_: uPlotClass, splits: number[]) =>
                splits.map((t) => {
                  const at = new Date(t * 1000);
                  const text = clock(at, zone).slice(0, 2);
                  return text === '00' ? dateText(localDate(at, zone)) : text;
                }),
            },
            { ...axis, size: 54, splits: isDirection ? () => [0, 90, 180, 270, 360] : undefined, values: (_: uPlotClass, v: number[]) => v.map((x) => (isDirection ? ['N', 'E', 'S', 'W', 'N'][x / 90]! : number(x))) },
          ],
        },
        [times, ...series.map((s) => s.values)] as uPlotClass.AlignedData,
        host,
      );
    };
    void draw();
    const again = () => void draw();
    const dark = matchMedia('(prefers-color-scheme: dark)');
    dark.addEventListener('change', again);
    let width = box.current?.clientWidth;
    const resized = new ResizeObserver(() => {
      if (box.current && box.current.clientWidth !== width) {
        width = box.current.clientWidth;
        again();
      }
    });
    if (box.current) resized.observe(box.current);
    return () => {
      gone = true;
      plot?.destroy();
      resized.disconnect();
      dark.removeEventListener('change', again);
    };
  }, [times, series, members, quantity]);

  return (
    <figure class="plot">
      <figcaption>
        <strong>{title}</strong>
        {unitText(unit) && ` (${unitText(unit)})`} <span class="quiet">needs {needs}</span>
      </figcaption>
      <div ref={box} role="img" aria-label={summary} />
    </figure>
  );
}

export function Plots({ hours, day, prescription, span, zone }: { hours: Hours; day: Day; prescription: Prescription; span: Span; zone: string }) {
  const [showsAll, setShowsAll] = useState(false);
  const quantities = useMemo(() => limited(prescription, day), [prescription, day]);
  const shown = showsAll ? quantities : quantities.slice(0, 4);
  const keys = quantities.map((q) => q.key).join(',');
  // At most two feeds beside the series that decided; each is asked for by its run.
  const [first, second] = day.feeds;
  const path = (run?: string) => (run ? `/units/${hours.unit}/hours?quantities=${keys}&run=${encodeURIComponent(run)}` : null);
  const one = useData<Hours>(path(first?.run));
  const other = useData<Hours>(path(second?.run));
  const starts = useMemo(() => hours.times.slice(span.from, span.to).map((t) => Date.parse(t) / 1000), [hours, span]);
  const data = useMemo(
    () =>
      new Map(
        quantities.map(({ key }) => {
          const series: Series[] = [{ name: 'deciding', values: hours.quantities[key]?.values.slice(span.from, span.to) ?? [] }];
          for (const [feed, answer] of [
            [first, one],
            [second, other],
          ] as const) {
            const column = answer.data?.quantities[key];
            if (!feed || !column) continue;
            const at = new Map(answer.data!.times.map((t, i) => [Date.parse(t) / 1000, column.values[i] ?? null]));
            series.push({ name: feed.feed, values: starts.map((t) => at.get(t) ?? null) });
          }
          return [key, series] as const;
        }),
      ),
    [hours, span, one.data, other.data, quantities],
  );
  const members = useMemo(() => {
    const part = (values: (number | null)[]) => values.slice(span.from, span.to);
    const all = Object.entries(hours.members?.quantities ?? {});
    return new Map(all.map(([key, { p10, p90 }]) => [key, { p10: part(p10), p90: part(p90) }]));
  }, [hours, span]);
  const windows = useMemo(() => day.windows.map((w): [number, number] => [Date.parse(w.start) / 1000, Date.parse(w.end) / 1000]), [day]);
  const names = ['deciding', ...day.feeds.slice(0, 2).map((f) => f.feed)];
  return (
    <section aria-labelledby="plots-heading">
      <div class="heading-row">
        <h2 id="plots-heading">What the limits are held against</h2>
        <ul class="key" aria-label="Key to the lines">
          {names.map((name, i) => (
            <li key={name}>
              <svg width="30" height="10" aria-hidden="true">
                <path d="M0 5h30" stroke="currentColor" stroke-width={i === 0 ? 2.4 : 1.5} stroke-dasharray={dashes[i]!.join(' ')} />
              </svg>{' '}
              {i === 0 ? 'the series that decides' : `feed ${name}`}
            </li>
          ))}
          {hours.members && (
            <li>
              <span class="swatch members" /> eight in ten of {hours.members.of} members
            </li>
          )}
          <li>
            <span class="swatch acceptable" /> acceptable
          </li>
          <li>
            <span class="swatch preferred" /> preferred
          </li>
        </ul>
      </div>
      <div class="plots">
        {shown.map((q) => (
          <Plot key={q.key} quantity={q} times={starts} series={data.get(q.key) ?? []} members={members.get(q.key)} windows={windows} zone={zone} day={day} unit={hours.quantities[q.key]?.unit ?? '1'} />
        ))}
      </div>
      {quantities.length > 4 && (
        <button type="button" aria-expanded={showsAll} onClick={() => setShowsAll(!showsAll)}>
          {showsAll ? 'Fewer quantities' : `All ${quantities.length} quantities`}
        </button>
      )}
    </section>
  );
}
