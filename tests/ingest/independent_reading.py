#!/usr/bin/python3
"""Values of weather files at points, read by other means than the program's own: netCDF4 unpacks, numpy interpolates, and
the spherical Lambert formulas (Snyder 1987, USGS Professional Paper 1395, eqs. 15-1 to 15-5) place the point.

Run by hand; its output is independent_reading.csv beside it.
    ./independent_reading.py FEEDS > independent_reading.csv
Needs numpy and netCDF4.
"""
import sys
import netCDF4
import numpy as np

feeds = sys.argv[1]


def lambert(m, lat, lon):
    r = np.pi / 180
    parallels = np.atleast_1d(m.standard_parallel)
    p1, p2, p0 = parallels[0] * r, parallels[-1] * r, m.latitude_of_projection_origin * r
    n = np.sin(p1) if abs(p1 - p2) < 1e-12 else np.log(np.cos(p1) / np.cos(p2)) / np.log(np.tan(np.pi / 4 + p2 / 2) / np.tan(np.pi / 4 + p1 / 2))
    f = np.cos(p1) * np.tan(np.pi / 4 + p1 / 2) ** n / n
    rho = lambda p: m.earth_radius * f / np.tan(np.pi / 4 + p / 2) ** n
    theta = n * ((lon - m.longitude_of_central_meridian + 540) % 360 - 180) * r
    return rho(lat * r) * np.sin(theta) + m.false_easting, rho(p0) - rho(lat * r) * np.cos(theta) + m.false_northing


def bilinear(a, ys, xs, y, x):
    def place(axis, v):
        i = int(np.clip(np.searchsorted(axis, v) - 1, 0, len(axis) - 2)) if axis[1] > axis[0] else int(np.clip(np.searchsorted(-axis, -v) - 1, 0, len(axis) - 2))
        return i, (v - axis[i]) / (axis[i + 1] - axis[i])
    j, t = place(ys, y)
    i, s = place(xs, x)
    w = [((1 - t) * (1 - s), j, i), ((1 - t) * s, j, i + 1), (t * (1 - s), j + 1, i), (t * s, j + 1, i + 1)]
    return sum(k * a[..., jj, ii] for k, jj, ii in w), max(w)


def out(file, lat, lon, quantity, values):
    for k, v in enumerate(np.atleast_1d(np.ma.filled(values, np.nan))):
        print(f"{file},{lat},{lon},{quantity},{k},{'' if np.isnan(v) else repr(float(v))}")


print("# made by independent_reading.py from the weather files; not by the program")
print("file,latitude,longitude,quantity,time,value")
name = "derived/nam211_surface_lambert.nc"
with netCDF4.Dataset(f"{feeds}/{name}") as d:
    ys, xs = d["y"][:].astype("f8"), d["x"][:].astype("f8")
    for lat, lon in ((39.1, -105.2), (28.0, -82.5), (46.25, -117.75)):
        x, y = lambert(d["Lambert_Conformal"], lat, lon)
        for v, key, a, b in (("2t", "air_temperature", 1, -273.15), ("2r", "relative_humidity", 1, 0), ("10u", "eastward_wind", 3.6, 0),
                             ("10v", "northward_wind", 3.6, 0), ("sp", "surface_pressure", 0.01, 0), ("gust", "wind_gust", 3.6, 0)):
            field = np.squeeze(d[v][:].astype("f8"))
            value, _ = bilinear(field, ys, xs, y, x)
            out(name, lat, lon, key, value * a + b)
name = "a_grid/era5_1995-07-14T12.nc"
with netCDF4.Dataset(f"{feeds}/{name}") as d:
    ys, xs = d["latitude"][:].astype("f8"), d["longitude"][:].astype("f8")
    for lat, lon in ((40.1, -105.3), (33.33, -84.4)):
        for v, key, a, b in (("t2m", "air_temperature", 1, -273.15), ("d2m", "dew_point_temperature", 1, -273.15), ("u10", "eastward_wind", 3.6, 0), ("sp", "surface_pressure", 0.01, 0)):
            value, _ = bilinear(d[v][:].astype("f8"), ys, xs, lat, lon)
            out(name, lat, lon, key, value * a + b)
name = "derived/gfs_flux_surface_with_hpbl_2006040100.nc"
with netCDF4.Dataset(f"{feeds}/{name}") as d:
    ys, xs = d["lat"][:].astype("f8"), d["lon"][:].astype("f8")
    xs_closed = np.append(xs, 360.0)
    for lat, lon in ((-37.7, 145.3), (51.2, -1.1), (51.2, 359.5)):
        for v, key, a, b in (("tmp2m", "air_temperature", 1, -273.15), ("pressfc", "surface_pressure", 0.01, 0)):
            field = np.squeeze(d[v][:].astype("f8"))
            field = np.concatenate([field, field[:, :1]], axis=1)
            value, _ = bilinear(field, ys, xs_closed, lat, lon % 360)
            out(name, lat, lon, key, value * a + b)
name = "derived/nyc_hourly_20130401_240h.nc"
with netCDF4.Dataset(f"{feeds}/{name}") as d:
    ys, xs = d["lat"][:].astype("f8"), d["lon"][:].astype("f8")
    lat, lon = 40.6, -74.1
    t = np.ma.filled(d["t2m"][:24].astype("f8"), np.nan)
    value, heaviest = bilinear(t, ys, xs, lat, lon)
    out(name, lat, lon, "air_temperature", value - 273.15)
    out(name, lat, lon, "precipitation_amount", d["tp"][:24, heaviest[1], heaviest[2]].astype("f8"))
