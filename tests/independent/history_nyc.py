#!/usr/bin/python3
"""What a year of observations says of three rule sets, counted without any of Hakea's code.

  grass   Yurkonis et al. (2019), Fire Ecology 15:7: 2 to 43 degC, 25 to 80 %, 6.44 to 24.12 km/h, no rain, six hours on end
          between 08:00 and 18:00
  sector  our own: wind from 200 through west to 20 degrees, 30 to 70 %, at most 1 mm in the 24 hours before the start, a start
          by 13:00, four hours between 10:00 and 17:00
  tail    our own: weekdays of spring and autumn; at most one hour of a window outside 5 to 24 degC, mean humidity of the window
          35 to 65 %, at most 0.5 mm on the day, wind of the window's end to the end of the next day at most 32 km/h in all but
          two hours; three hours between 09:00 and 16:00

A missing value is never in. Of each unbroken span of hours that are in, the longest stretch that keeps all other limits of a
window is its window (of equals the earliest); a day is met when a window keeps the limits of the day and of the days after.

Prints `rules,station,what,value` lines: the met dates; for every limit by number the light-up hours that it alone is out in, the
hours that it is out in with another, and the days that would be met without it. tests/data/history_nyc.csv is its output.
Call: history_nyc.py nyc_airports_hourly_2013.csv
"""
import csv, datetime as dt, math, sys, zoneinfo
from struct import pack, unpack

ZONE = zoneinfo.ZoneInfo("America/New_York")
HOUR = dt.timedelta(hours=1)
f32 = lambda x: unpack("f", pack("f", x))[0]
NA = float("nan")


def read(path):
    number = lambda s: NA if s in ("", "NA") else float(s)
    stations = {}
    for r in csv.DictReader(open(path, newline="")):
        t = dt.datetime.fromisoformat(r["time_hour"].replace("Z", "+00:00"))
        stations.setdefault(r["origin"], {})[t] = {k: f32(v) for k, v in (
            ("temp", (number(r["temp"]) - 32) / 1.8), ("rh", number(r["humid"])), ("wind", number(r["wind_speed"]) * 1.609344),
            ("from", number(r["wind_dir"])), ("rain", number(r["precip"]) * 25.4))}
    return stations


IN, UNKNOWN, OUT = "in", "unknown", "out"


def between(v, lo, hi):
    if math.isnan(v):
        return UNKNOWN
    return IN if f32(lo) <= v <= f32(hi) else OUT


class Place:
    """One station's year, asked hour by hour."""

    def __init__(self, hours):
        self.hours = hours

    def get(self, t, key):
        return self.hours.get(t, {}).get(key, NA)

    def range(self, key, lo, hi):
        return lambda t: between(self.get(t, key), lo, hi)

    def sector(self, begin, end):
        def fit(t):
            direction, speed = self.get(t, "from"), self.get(t, "wind")
            if not math.isnan(direction) and not (direction >= begin or direction <= end):
                return OUT
            if not math.isnan(speed) and speed < 5:
                return OUT
            return UNKNOWN if math.isnan(direction) or math.isnan(speed) else IN
        return fit

    def total(self, key, times, most):
        """A missing hour can only add."""
        values = [self.get(t, key) for t in times]
        known = f32(sum(v for v in values if not math.isnan(v)))
        if known > f32(most):
            return OUT
        return UNKNOWN if any(math.isnan(v) for v in values) else IN


def hours_between(a, b):
    while a < b:
        yield a
        a += HOUR


def local(date, clock):
    """The first whole UTC hour at or after a local clock time (there are no half-hour zones here)."""
    return dt.datetime.combine(date, dt.time(clock % 24), ZONE).astimezone(dt.timezone.utc)


def rule_sets(place):
    """Each: light-up hours, latest start, duration, calendar, and limits: (scope, function)."""
    yield "grass", (8, 18), None, 6, lambda d: True, [
        ("hour", place.range("temp", 2, 43)), ("hour", place.range("rh", 25, 80)), ("hour", place.range("wind", 6.44, 24.12)),
        ("hour", place.range("rain", -1, 0))]
    yield "sector", (10, 17), 13, 4, lambda d: True, [
        ("hour", place.sector(200, 20)), ("hour", place.range("rh", 30, 70)),
        ("start", lambda s: place.total("rain", hours_between(s - 24 * HOUR, s), 1))]
    in_season = lambda d: (3, 1) <= (d.month, d.day) <= (5, 31) or (9, 15) <= (d.month, d.day) <= (11, 30)

    def all_but_one_hour(s, e):
        fits = [place.range("temp", 5, 24)(t) for t in hours_between(s, e)]
        if fits.count(OUT) > 1:
            return OUT
        return IN if len(fits) - fits.count(IN) <= 1 else UNKNOWN

    def mean_humidity(s, e):
        values = [place.get(t, "rh") for t in hours_between(s, e)]
        return between(f32(sum(values) / len(values)), 35, 65)

    def next_day_wind(e, date):
        fits = [place.range("wind", -1, 32)(t) for t in hours_between(e, local(date + dt.timedelta(days=2), 0))]
        if fits.count(OUT) > 2:
            return OUT
        return IN if len(fits) - fits.count(IN) <= 2 else UNKNOWN

    yield "tail", (9, 16), None, 3, lambda d: in_season(d) and d.weekday() < 5, [
        ("stretch", all_but_one_hour), ("stretch", mean_humidity),
        ("day", lambda d: place.total("rain", hours_between(local(d, 0), local(d + dt.timedelta(days=1), 0)), 0.5)),
        ("after", next_day_wind)]


def met(date, within, latest, duration, limits):
    begin, end = local(date, within[0]), local(date, within[1])
    ask = lambda scope, *what: all(f(*what) == IN for s, f in limits if s == scope)
    if not ask("day", date):
        return False
    s = begin
    while s < end:
        if not ask("hour", s):
            s += HOUR
            continue
        span_end = s
        while span_end < end and ask("hour", span_end):
            span_end += HOUR
        best = None
        for a in hours_between(s, span_end):
            if (latest is not None and a > local(date, latest)) or not ask("start", a):
                continue
            for b in hours_between(a + HOUR, span_end + HOUR):
                if ask("stretch", a, b) and (best is None or b - a > best[1] - best[0]):
                    best = (a, b)
        if best and best[1] - best[0] >= duration * HOUR and ask("after", best[1], date):
            return True
        s = span_end
    return False


def outs(date, within, limits, hours):
    """By light-up hour of the record the numbers of the limits that are out."""
    begin, end = local(date, within[0]), local(date, within[1])
    of_day = {i for i, (s, f) in enumerate(limits) if s == "day" and f(date) == OUT
              or s == "after" and all(f(e, date) == OUT for e in hours_between(begin + HOUR, end + HOUR))}
    for t in hours_between(begin, end):
        if not min(hours) <= t <= max(hours):
            continue
        here = {i for i, (s, f) in enumerate(limits) if s in ("hour", "start") and f(t) == OUT}
        # of limits on a stretch, the hour by itself
        here |= {i for i, (s, f) in enumerate(limits) if s == "stretch" and single[i](t) == OUT}
        yield here | of_day


print("rules,station,what,value")
for station, hours in read(sys.argv[1]).items():
    place = Place(hours)
    single = {0: place.range("temp", 5, 24), 1: place.range("rh", 35, 65)}
    for name, within, latest, duration, permits, limits in rule_sets(place):
        alone, together, gain = ([0] * len(limits) for _ in range(3))
        date, last = (t.astimezone(ZONE).date() for t in (min(hours), max(hours)))
        while date <= last:
            if permits(date):
                for out in outs(date, within, limits, hours):
                    for i in out:
                        (alone if len(out) == 1 else together)[i] += 1
                if met(date, within, latest, duration, limits):
                    print(f"{name},{station},met,{date}")
                else:
                    for i in range(len(limits)):
                        gain[i] += met(date, within, latest, duration, limits[:i] + limits[i + 1:])
            date += dt.timedelta(days=1)
        for i in range(len(limits)):
            print(f"{name},{station},alone {i},{alone[i]}")
            print(f"{name},{station},together {i},{together[i]}")
            print(f"{name},{station},gain {i},{gain[i]}")
