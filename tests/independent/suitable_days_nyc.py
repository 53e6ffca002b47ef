#!/usr/bin/python3
"""Days that suit a published rule set, counted without any of Hakea's code.

Rules: Yurkonis et al. (2019), Fire Ecology 15:7 - air temperature 2 to 43 degC, relative humidity 25 to 80 %, wind 6.44 to
24.12 km/h, at least 6 rain-free hours on end between 08:00 and 18:00 local time. A missing value is never in.

Reads hourly observations of three airports, once as a grid (the cell nearest to each airport) and once as a table for the
year. Prints `source,station,date` lines; tests/data/suitable_days_nyc.csv is its output.
Call: suitable_days_nyc.py FOLDER_OF_WEATHER_FILES. Needs Debian's python3-numpy and python3-netcdf4.
"""
import csv, datetime as dt, sys, zoneinfo
import numpy as np, netCDF4

FEEDS = sys.argv[1]
STATIONS = {"EWR": (40.6925, -74.1687), "JFK": (40.6398, -73.7789), "LGA": (40.7772, -73.8726)}
ZONE = zoneinfo.ZoneInfo("America/New_York")


def suitable(rows):
    """rows: UTC hour -> (degC, %, km/h, mm), float32. Dates with six hours on end inside 08:00-18:00."""
    good = {t for t, (c, h, w, r) in rows.items() if 2 <= c <= 43 and 25 <= h <= 80 and np.float32(6.44) <= w <= np.float32(24.12) and r <= 0}
    days = set()
    for t in good:
        run = [t + dt.timedelta(hours=k) for k in range(6)]
        local = [x.astimezone(ZONE) for x in run]
        if all(x in good for x in run) and all(x.date() == local[0].date() and 8 <= x.hour < 18 for x in local):
            days.add(local[0].date())
    return sorted(days)


def grid(name):
    with netCDF4.Dataset(f"{FEEDS}/derived/{name}") as f:
        f.set_auto_mask(False)
        start = dt.datetime.strptime(f["time"].units[12:25], "%Y-%m-%d %H").replace(tzinfo=dt.timezone.utc)
        for station, (lat, lon) in STATIONS.items():
            y, x = abs(f["lat"][:] - lat).argmin(), abs(f["lon"][:] - lon).argmin()
            t, d, u, v, p = (np.where(a > 1e30, np.nan, a.astype("f8")) for a in (f[n][:, y, x] for n in ("t2m", "d2m", "u10", "v10", "tp")))
            c, td = t - 273.15, d - 273.15
            rh = 100 * np.exp(17.67 * td / (td + 243.5) - 17.67 * c / (c + 243.5))
            rain = np.append(np.diff(p), np.nan)           # the hour that starts at t holds what had fallen by t + 1 h
            rain = np.where(np.abs(rain) < 0.05, np.maximum(rain, 0), rain)
            rows = zip(c, np.minimum(rh, 100), 3.6 * np.hypot(u, v), rain)
            yield station, {start + dt.timedelta(hours=i): tuple(np.float32(q) for q in row) for i, row in enumerate(rows)}


def table(name):
    number = lambda s: float(s) if s not in ("", "NA") else np.nan
    rows = {s: {} for s in STATIONS}
    with open(f"{FEEDS}/e_station/{name}", newline="") as f:
        for r in csv.DictReader(f):
            when = dt.datetime.strptime(r["time_hour"][:13].replace("T", " "), "%Y-%m-%d %H").replace(tzinfo=dt.timezone.utc)
            values = ((number(r["temp"]) - 32) / 1.8, number(r["humid"]), number(r["wind_speed"]) * 1.609344, number(r["precip"]) * 25.4)
            rows[r["origin"]][when] = tuple(np.float32(q) for q in values)
    return rows.items()


print("source,station,date")
for source, series in (("nyc_hourly_20130401_240h.nc", grid), ("nyc_hourly_20130402_240h.nc", grid), ("nyc_airports_hourly_2013.csv", table)):
    for station, hours in series(source):
        for day in suitable(hours):
            print(f"{source},{station},{day}")
