#!/usr/bin/python3
"""What the real weather files hold, read by other means than the program's own: netCDF4 unpacks, cftime counts the times,
numpy interpolates, PROJ's Python binding places points, ecCodes' tools read GRIB. Points and times are chosen here, by chance
from a fixed seed.

Run by hand; its output is independent_reading.csv beside it.
    ./independent_reading.py FEEDS > independent_reading.csv
Needs Debian's python3-netcdf4, python3-numpy, python3-pyproj and libeccodes-tools.

Rows: file, what, latitude, longitude, name, time, value. `what` is
  times     name first, last or count
  variable  name of a variable of the file, value its quantity
  range     name of a quantity, with "least" or "most" as the time: over all cells, times and members
  at        a quantity at a place and time; empty where it is missing
"""
import random
import subprocess
import sys
import warnings

import cftime
import netCDF4
import numpy as np
import pyproj

warnings.filterwarnings("ignore")
FEEDS = sys.argv[1]
POINTS, TIMES = 3, 3

# Factor and offset to the units of the catalogue.
K, C, MS, KTS, KMH = (1, -273.15), (1, 0), (3.6, 0), (1.852, 0), (1, 0)
PA, HPA, KPA, PERCENT, FRACTION, ONE = (0.01, 0), (1, 0), (10, 0), (1, 0), (100, 0), (1, 0)
MM_PER_S = (3600, 0)  # as a rate, mm h-1
GEOPOTENTIAL = (1 / 9.80665, 0)


def stamp(t):
    return t.strftime("%Y-%m-%dT%H:%M:%SZ")


def row(file, what, lat="", lon="", name="", time="", value=""):
    if isinstance(value, (float, np.floating)):
        value = "" if np.isnan(value) else repr(float(value))
    print(",".join(str(x) for x in (file, what, lat, lon, name, time, value)))


def filled(a):
    return np.ma.filled(np.ma.asarray(a).astype("f8"), np.nan)


def cf_times(ds, name, units=None):
    v = ds[name]
    numbers = np.ma.atleast_1d(v[:])
    dates = cftime.num2date(np.ma.compressed(numbers), units or v.units, "standard" if not hasattr(v, "calendar") else v.calendar)
    epoch = cftime.datetime(1970, 1, 1, calendar="standard")
    out = []
    for d in np.atleast_1d(dates):  # to the second
        d = cftime.datetime(d.year, d.month, d.day, d.hour, d.minute, d.second, d.microsecond, calendar="standard")
        seconds = round((d - epoch).total_seconds())
        out.append(cftime.num2date(seconds, "seconds since 1970-01-01", "standard"))
    return out


def place_on(axis, v):
    up = axis[1] > axis[0]
    i = int(np.clip(np.searchsorted(axis if up else -axis, v if up else -v) - 1, 0, len(axis) - 2))
    return i, (v - axis[i]) / (axis[i + 1] - axis[i])


NEAREST = ("precipitation_amount", "wind_from_direction")


def sample(a, ys, xs, y, x, quantity):
    """a[..., y, x] between the four cells around a point, or the nearest cell's value."""
    (j, t), (i, s) = place_on(ys, y), place_on(xs, x)
    w = [((1 - t) * (1 - s), j, i), ((1 - t) * s, j, i + 1), (t * (1 - s), j + 1, i), (t * s, j + 1, i + 1)]
    if quantity in NEAREST:
        _, jj, ii = max(w)
        return a[..., jj, ii]
    return sum(k * a[..., jj, ii] for k, jj, ii in w)


class File:
    def __init__(self, name):
        self.name, self.random = name, random.Random(name)
        self.ds = netCDF4.Dataset(f"{FEEDS}/{name}")

    def report(self, times, variables, arrays):
        """arrays: quantity to an array [time, ...] in catalogue units, all members and cells."""
        row(self.name, "times", name="first", value=stamp(min(times)))
        row(self.name, "times", name="last", value=stamp(max(times)))
        row(self.name, "times", name="count", value=len(set(map(stamp, times))))
        for variable, quantity in variables.items():
            row(self.name, "variable", name=variable, value=quantity)
        for quantity, a in arrays.items():
            row(self.name, "range", name=quantity, time="least", value=float(np.nanmin(a)))
            row(self.name, "range", name=quantity, time="most", value=float(np.nanmax(a)))

    def some_times(self, times):
        return sorted(self.random.sample(range(len(times)), min(TIMES, len(times))))

    def at(self, lat, lon, quantity, times, series):
        for k in self.some_times(times):
            row(self.name, "at", lat, lon, quantity, stamp(times[k]), float(series[k]))


def axes(name, y, x, times, variables, fixed=None, plane=None, scale=1.0, range_only=(), least=None, seam=False, masked=True):
    """A file with one axis for rows and one for columns. variables: name -> (quantity, unit). fixed: index by dimension.
    plane: latitude, longitude -> y, x and back, where the axes are those of a projection."""
    f = File(name)
    ds = f.ds
    ds.set_auto_mask(masked)
    ys, xs = filled(ds[y][:]) * scale, filled(ds[x][:]) * scale
    if plane is None:
        xs = np.unwrap(xs, period=360)
    times = times(ds) if callable(times) else cf_times(ds, times)
    ydim, xdim = ds[y].dimensions[0], ds[x].dimensions[0]
    everything, surface = {}, {}
    for variable, (quantity, (factor, offset)) in variables.items():
        v = ds[variable]
        whole = filled(v[:]) * factor + offset
        if least and quantity in least:  # implausible values are none
            whole[(whole < least[quantity][0]) | (whole > least[quantity][1])] = np.nan
        everything[quantity] = whole
        index = tuple((fixed or {}).get(d, 0 if len(ds.dimensions[d]) == 1 and d not in (ydim, xdim) else slice(None)) for d in v.dimensions)
        kept = [d for d, i in zip(v.dimensions, index) if isinstance(i, slice)]
        a = whole[index]
        order = [d for d in kept if d not in (ydim, xdim)] + [ydim, xdim]
        a = np.transpose(a, [kept.index(d) for d in order])
        surface[quantity] = a if a.ndim == 3 else a[None]
    f.report(times, {v: q for v, (q, _) in variables.items()}, everything)
    places = 0
    for attempt in range(300):
        j, i = f.random.randrange(len(ys) - 1), f.random.randrange(len(xs) - 1)
        t, s = f.random.uniform(0.1, 0.9), f.random.uniform(0.1, 0.9)
        yy, xx = ys[j] + t * (ys[j + 1] - ys[j]), xs[i] + s * (xs[i + 1] - xs[i])
        if seam and places == 0:  # between the last column and the first
            i, xx = len(xs) - 1, xs[-1] + s * (xs[1] - xs[0])
        if plane:
            lat, lon = (round(c, 5) for c in plane[1](yy, xx))
            yy, xx = plane[0](lat, lon)
        else:
            lat, lon = round(yy, 3), round((xx + 180) % 360 - 180, 3)
            yy, xx = lat, xs[0] + (lon - xs[0]) % 360
        closed, fields = xs, surface
        if seam:
            closed = np.append(xs, xs[0] + 360)
            fields = {q: np.concatenate([a, a[..., :1]], axis=-1) for q, a in surface.items()}
        values = {q: sample(a, ys, closed, yy, xx, q) for q, a in fields.items() if q not in range_only}
        if any(np.isnan(v).all() for v in values.values()):
            continue
        for q, series in values.items():
            f.at(lat, lon, q, times, series)
        places += 1
        if places == POINTS:
            break
    return f, times, surface


def cells(name, lat, lon, times, variables, fixed=None, transposed=False):
    """A file with a latitude and longitude for each cell: read at the middle of cells, inside the grid."""
    f = File(name)
    ds = f.ds
    la, lo = (np.squeeze(filled(ds[v][:])) for v in (lat, lon))
    la, lo = (a[0] if a.ndim == 3 else a for a in (la, lo))
    if transposed:
        la, lo = la.T, lo.T
    times = times(ds) if callable(times) else cf_times(ds, times)
    everything = {}
    for variable, (quantity, (factor, offset)) in variables.items():
        everything[quantity] = filled(ds[variable][:]) * factor + offset
    f.report(times, {v: q for v, (q, _) in variables.items()}, everything)
    for _ in range(POINTS):
        j, i = f.random.randrange(2, la.shape[0] - 2), f.random.randrange(2, la.shape[1] - 2)
        for quantity, a in everything.items():
            f.at(la[j, i], lo[j, i], quantity, times, a[:, j, i])


def laid(name, times, variables, plane, lat, lon, step):
    """A file whose cells stand evenly on a plane, from the first one on, with nothing but a feed saying so."""
    f = File(name)
    p = pyproj.Proj(plane)
    x0, y0 = p(lon, lat)
    times = cf_times(f.ds, times)
    everything = {q: filled(f.ds[v][:]) * unit[0] + unit[1] for v, (q, unit) in variables.items()}
    f.report(times, {v: q for v, (q, _) in variables.items()}, everything)
    for _ in range(POINTS):
        rows, columns = next(iter(everything.values())).shape[-2:]
        y, x = f.random.uniform(1, rows - 2), f.random.uniform(1, columns - 2)
        lo, la = (round(c, 5) for c in p(x0 + x * step, y0 + y * step, inverse=True))
        east, north = p(lo, la)
        for quantity, a in everything.items():
            f.at(la, lo, quantity, times, sample(a, np.arange(rows), np.arange(columns), (north - y0) / step, (east - x0) / step, quantity))


def places(name, lat, lon, times, variables):
    """Stations: one dimension of places, or a single one."""
    f = File(name)
    ds = f.ds
    times = times(ds) if callable(times) else cf_times(ds, times)
    everything = {q: filled(ds[v][:]) * unit[0] + unit[1] for v, (q, unit) in variables.items()}
    f.report(times, {v: q for v, (q, _) in variables.items()}, everything)
    if lat is None:
        return
    la, lo = np.atleast_1d(filled(ds[lat][:])), np.atleast_1d(filled(ds[lon][:]))
    for p in sorted(f.random.sample(range(len(la)), min(POINTS, len(la)))):
        for quantity, a in everything.items():
            one = np.reshape(a, (len(la), -1))[p]
            f.at(la[p], lo[p], quantity, times, one)


def proj(text):
    # A shift to another datum moves a point by some hundred metres, which no grid of kilometres tells: left out here as there.
    text = " ".join(w for w in text.split() if not w.startswith("+towgs84"))
    p = pyproj.Proj(text)
    return (lambda lat, lon: p(lon, lat)[::-1], lambda y, x: p(x, y, inverse=True)[::-1])


def rotated(pole_lat, pole_lon):
    """Spherical trigonometry of a globe whose north pole was moved, apart from PROJ; degrees."""
    r = np.pi / 180

    def turn(lat, lon, back):
        # unit vector; rotate about the polar axis so that the new pole lies on the zero meridian, then tip it over
        def rz(a):
            return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])

        def ry(a):
            return np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])

        m = ry(np.pi / 2 - pole_lat * r) @ rz(-(pole_lon + 180) * r)
        m = m.T if back else m
        v = m @ np.array([np.cos(lat * r) * np.cos(lon * r), np.cos(lat * r) * np.sin(lon * r), np.sin(lat * r)])
        return np.arcsin(np.clip(v[2], -1, 1)) / r, np.arctan2(v[1], v[0]) / r

    return (lambda lat, lon: turn(lat, lon, False), lambda y, x: turn(y, x, True))


# GRIB, by the tools of ecCodes.

def run(*words):
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout


def grib_fields(name, where):
    """[(valid time, latitudes, longitudes, values)] of the fields that `where` names; missing values are left out."""
    path = f"{FEEDS}/{name}"
    keys = [line.split() for line in run("grib_get", "-w", where, "-p", "validityDate,validityTime", path).splitlines()]
    blocks, block = [], None
    for line in run("grib_get_data", "-w", where, "-L", "%.6f %.6f", "-F", "%.9e", path).splitlines():
        if line.startswith("Latitude"):
            block = []
            blocks.append(block)
        else:
            block.append([float(x) for x in line.split()])
    out = []
    for (date, time), b in zip(keys, blocks):
        when = cftime.datetime(int(date[:4]), int(date[4:6]), int(date[6:]), int(time) // 100, int(time) % 100, calendar="standard")
        out.append((when, *np.array(b).T))
    return out


def grib(name, variables, inner=None, to_and_fro=0, ranges=True, on_land=False):
    """variables: name as the program should show it -> (quantity, unit, keys of grib_get). Read at grid points."""
    rnd = random.Random(name)
    all_times, read = [], {}
    for variable, (quantity, (factor, offset), where) in variables.items():
        fields = grib_fields(name, where)
        if to_and_fro:  # the tool pairs every other row of such a file with the wrong points
            for _, _, _, v in fields:
                for at in range(to_and_fro, len(v), 2 * to_and_fro):
                    v[at:at + to_and_fro] = v[at:at + to_and_fro][::-1].copy()
        read[variable] = (quantity, [(t, la, lo, v * factor + offset) for t, la, lo, v in fields])
        all_times += [t for t, *_ in fields]
    row(name, "times", name="first", value=stamp(min(all_times)))
    row(name, "times", name="last", value=stamp(max(all_times)))
    row(name, "times", name="count", value=len(set(map(stamp, all_times))))
    land = None
    if on_land:
        _, la, lo, v = grib_fields(name, "shortName=lsm")[0]
        land = v > 0.5
    chosen = None
    for variable, (quantity, fields) in read.items():
        row(name, "variable", name=variable, value=quantity)
        if ranges:
            row(name, "range", name=quantity, time="least", value=float(min(f[3].min() for f in fields)))
            row(name, "range", name=quantity, time="most", value=float(max(f[3].max() for f in fields)))
        if inner is None:
            continue
        columns, rows = inner
        if chosen is None:
            chosen = []
            while len(chosen) < POINTS:
                n = rnd.randrange(2, rows - 2) * columns + rnd.randrange(2, columns - 2)
                if land is None or land[n]:
                    chosen.append(n)
        for n in chosen:
            for t, la, lo, v in fields:
                row(name, "at", la[n], lo[n], quantity, stamp(t), float(v[n]))


def netcdf_files():
    lat_lon = ("latitude", "longitude")
    for n in (1, 2):
        axes(f"a_grid/earthkit_era5_2t_{n}.nc", *lat_lon, "time", {"t2m": ("air_temperature", K)}, seam=True)
    axes("a_grid/earthkit_test_single.nc", *lat_lon, "valid_time", {"t2m": ("air_temperature", K)})
    axes("a_grid/era5_1995-07-14T12.nc", *lat_lon, "time", {
        "t2m": ("air_temperature", K), "d2m": ("dew_point_temperature", K), "u10": ("eastward_wind", MS), "v10": ("northward_wind", MS),
        "sp": ("surface_pressure", PA)})
    places("a_grid/era5_2022_2mtemp_spres_xyav.nc", None, None, "initial_time0_hours",
           {"2T_GDS0_SFC": ("air_temperature", K), "SP_GDS0_SFC": ("surface_pressure", PA)})
    axes("a_grid/era5_hourly_wind_rad_berlin.nc", *lat_lon, "time", {
        "t2m": ("air_temperature", K), "u10": ("eastward_wind", MS), "v10": ("northward_wind", MS), "sp": ("surface_pressure", PA)})
    places("a_grid/era5_single_point.nc", *lat_lon[::1], "time", {
        "d2m": ("dew_point_temperature", K), "u10": ("eastward_wind", MS), "v10": ("northward_wind", MS)})
    f, times, surface = axes("a_grid/era5_surface_has_nan.nc", *lat_lon, "time", {
        "d2m": ("dew_point_temperature", K), "u10": ("eastward_wind", MS), "v10": ("northward_wind", MS)})
    k, j, i = np.argwhere(np.isnan(surface["eastward_wind"]))[0]  # the one cell that is missing
    where = f.ds["latitude"][j], f.ds["longitude"][i]
    for q in ("eastward_wind", "northward_wind"):
        row(f.name, "at", *where, q, stamp(times[k]), float(surface[q][k, j, i]))
    axes("a_grid/gridmet_tmmx_20190121.nc", "lat", "lon", "day", {"air_temperature": ("air_temperature", K)})
    axes("a_grid/GFS_Global_onedeg_20120515_1200.grib2.nc", "lat", "lon", "time", {"Temperature_surface": ("air_temperature", K)},
         seam=True, least={"air_temperature": (-90, 60)})
    axes("a_grid/metpy_gfs_output.nc", "lat", "lon", "time", {"temp": ("air_temperature", K)})
    axes("a_grid/skinnywms_mslp.nc", *lat_lon, "time", {"msl": ("surface_pressure", PA)}, seam=True)
    axes("a_grid/test_adaptor.cams_regional_fc.nc", *lat_lon, lambda ds: cf_times(ds, "time", "hours since 2020-01-01"),
         {"pm10_conc": ("mixing_height", ONE)})

    name = "b_projected/wcs_processed_8x7_uwcw_ha43_dini_5p5km_wind-speed-xy_20240905T00.nc"
    crs = netCDF4.Dataset(f"{FEEDS}/{name}")["crs"]
    words = dict(w.lstrip("+").split("=") for w in crs.proj4_params.split() if "=" in w)
    plane = rotated(float(words["o_lat_p"]), float(words["lon_0"]) + 180 - float(words.get("o_lon_p", 0)))
    axes(name, "y", "x", "time", {"x-wind-hagl": ("x_wind", KTS), "y-wind-hagl": ("y_wind", KTS)}, plane=plane)
    name = "b_projected/HARM_N25_20171215090000_dimx16_dimy16_dimtime49_dimforecastreferencetime1_varairtemperatureat2m.nc"
    axes(name, "y", "x", "time", {"air_temperature__at_2m": ("air_temperature", C)},
         plane=proj(netCDF4.Dataset(f"{FEEDS}/{name}")["crs"].proj4_params))
    cells("b_projected/wrfout_cut_ci_test_file.nc", "XLAT", "XLONG",
          lambda ds: [cftime.datetime.strptime(t, "%Y-%m-%d_%H:%M:%S", calendar="standard") for t in netCDF4.chartostring(ds["Times"][:])],
          {"T2": ("air_temperature", K), "Q2": ("specific_humidity", ONE), "U10": ("x_wind", MS), "V10": ("y_wind", MS),
           "PSFC": ("surface_pressure", PA)})
    axes("b_projected/xycomponents_all_north.nc", "y", "x", "time", {"xcomponent": ("x_wind", KTS), "ycomponent": ("y_wind", KTS)},
         scale=1000.0, plane=proj("+proj=stere +lat_0=90 +lon_0=0 +k_0=0.933012709177451 +a=6378140 +b=6356750"))

    for v, quantity, unit in (("tas", "air_temperature", K), ("uas", "eastward_wind", MS), ("vas", "northward_wind", MS)):
        axes(f"a_grid/{v}_rectilinear_grid_2D.nc", "lat", "lon", "time", {v: (quantity, unit)}, seam=True)
    cells("b_projected/lambert_conformal_test_lcc.nc", "lat", "lon", "time", {"tas": ("air_temperature", C)})
    name = "b_projected/tas_rotated_grid_EUR11.nc"
    m = netCDF4.Dataset(f"{FEEDS}/{name}")["rotated_pole"]
    axes(name, "rlat", "rlon", "time", {"tas": ("air_temperature", K)}, plane=rotated(m.grid_north_pole_latitude, m.grid_north_pole_longitude))
    name = "b_projected/lcc_km.nc"
    m = netCDF4.Dataset(f"{FEEDS}/{name}")["lambert_conformal_conic"]
    axes(name, "y", "x", "time", {"prcp": ("precipitation_amount", ONE)}, plane=proj(lambert_text(m)), scale=1000.0)
    name = "d_ensemble/label_and_climate_small_FC_167_mon_19601101.nc"
    axes(name, "latitude", "longitude", lambda ds: [
        cftime.num2date(float(ds["reftime"][k]) * 24 + float(ds["leadtime"][k]), "hours since 1950-01-01", "standard") for k in (0, 1)],
         {"tas": ("air_temperature", K)}, fixed={"ensemble": 0}, seam=True, masked=False)

    axes("a_grid/tds_1day.nc", "lat", "lon", lambda ds: cf_times(ds, "time", "seconds since 2020-01-01"),
         {"analysed_sst": ("eastward_wind", (0.0036, 0))})
    for hour in ("00", "12"):  # no coordinates; the grid is stated in the file's own way: polar stereographic, true at 60 N
        laid("b_projected/20040503%s_eta_211.nc" % hour, "valtime", {"Z_sfc": ("mixing_height", ONE)},
             "+proj=stere +lat_0=90 +lat_ts=60 +lon_0=249 +R=6371200", 27.203, -135.213, 60000)

    places("c_profile/gfs_point_profile_netcdf4.nc", None, None, "time", {
        "Temperature_isobaric": ("level_temperature", K), "Relative_humidity_isobaric": ("level_relative_humidity", PERCENT)})
    ascent = {"tdry": ("level_temperature", C), "dp": ("level_dew_point_temperature", C), "rh": ("level_relative_humidity", PERCENT),
              "u_wind": ("level_eastward_wind", MS), "v_wind": ("level_northward_wind", MS), "alt": ("level_height", ONE)}
    for name in ("twpsondewnpnC3.b1.20060119.050300.custom", "twpsondewnpnC3.b1.20060119.112000.custom",
                 "twpsondewnpnC3.b1.20060119.163300.custom", "twpsondewnpnC3.b1.20060119.231600.custom",
                 "twpsondewnpnC3.b1.20060121.051500.custom", "twpsondewnpnC3.b1.20060121.111600.custom",
                 "twpsondewnpnC3.b1.20060121.171600.custom", "twpsondewnpnC3.b1.20060121.231600.custom",
                 "sgpsondewnpnC1.b1.20190101.053200"):  # the time of the launch
        places(f"c_profile/{name}.cdf", None, None, lambda ds: cf_times(ds, "time")[:1], ascent)
    places("d_ensemble/geps_watershed_forecast.nc", None, None, "time", {"tas": ("air_temperature", C), "pr": ("precipitation_amount", ONE)})
    name = "d_ensemble/uwcw_ha43ens_nl_2km_wind-speed-hagl_geoweb_nc_20240605T03_5x5.nc"
    axes(name, "y", "x", "time", {"wind-speed-hagl": ("wind_speed", KTS)}, fixed={"member": 0},
         plane=proj("+proj=merc +a=6378137 +b=6378137 +lat_ts=0 +lon_0=0 +x_0=0 +y_0=0 +k=1"))

    axes("derived/gfs_flux_surface_with_hpbl_2006040100.nc", "lat", "lon", "time", {
        "tmp2m": ("air_temperature", K), "spfh2m": ("specific_humidity", ONE), "ugrd10m": ("eastward_wind", MS),
        "vgrd10m": ("northward_wind", MS), "pressfc": ("surface_pressure", PA), "hpblsfc": ("mixing_height", ONE),
        "pratesfc": ("precipitation_amount", MM_PER_S)}, seam=True)
    for name in ("derived/nam211_surface_lambert.nc", "derived/nam211_f012_surface_lambert.nc"):
        m = netCDF4.Dataset(f"{FEEDS}/{name}")["Lambert_Conformal"]
        axes(name, "y", "x", "time", {
            "2t": ("air_temperature", K), "2r": ("relative_humidity", PERCENT), "10u": ("eastward_wind", MS), "10v": ("northward_wind", MS),
            "sp": ("surface_pressure", PA), "gust": ("wind_gust", MS), "tp": ("precipitation_amount", ONE)},
             plane=proj(lambert_text(m)))
    name = "derived/nam211_pressure_levels_lambert.nc"
    places(name, None, None, "time", {
        "gh": ("level_height", ONE), "t": ("level_temperature", K), "r": ("level_relative_humidity", PERCENT),
        "u": ("level_eastward_wind", MS), "v": ("level_northward_wind", MS)})
    for day in (1, 2):
        axes(f"derived/nyc_hourly_2013040{day}_240h.nc", "lat", "lon", "time", {
            "t2m": ("air_temperature", K), "d2m": ("dew_point_temperature", K), "u10": ("eastward_wind", MS), "v10": ("northward_wind", MS),
            "tp": ("precipitation_amount", ONE)})

    places("e_station/daily_surface_cancities_1990-1993.nc", "lat", "lon", "time", {"pr": ("precipitation_amount", MM_PER_S)})
    met = {"temp_mean": ("air_temperature", C), "rh_mean": ("relative_humidity", PERCENT), "wspd_arith_mean": ("wind_speed", MS),
           "wdir_vec_mean": ("wind_from_direction", ONE), "atmos_pressure": ("surface_pressure", KPA)}
    places("e_station/sgpmetE13.b1.20190101.000000.cdf", "lat", "lon", "time", met)
    for name in ("g_nasty/sgpmet_no_time.nc", "g_nasty/sgpmet_test_time.nc"):
        places(name, "lat", "lon", "time_offset", met)

    places("f_fwi/GFWED_sample_2017.nc", "lat", "lon", "time", {
        "tas": ("air_temperature", C), "rh": ("relative_humidity", PERCENT), "sfcwind": ("wind_speed", KMH),
        "prbc": ("precipitation_amount", (1 / 24, 0))})
    places("f_fwi/fwi_reference_fwi.nc", "lat", "lon", "time", {
        "tas": ("air_temperature", C), "rh": ("relative_humidity", PERCENT), "ws": ("wind_speed", KMH), "pr": ("precipitation_amount", (1 / 24, 0))})
    places("f_fwi/fwi_reference_wDC.nc", None, None, "time", {"tas": ("air_temperature", C), "pr": ("precipitation_amount", (1 / 24, 0))})

    name = "g_nasty/279-allow_encoded_proj4_params_attribute.nc"
    text = netCDF4.Dataset(f"{FEEDS}/{name}")["crs"].proj4_params
    kept = " ".join(w for w in text.replace('"', " ").split() if w.startswith(("+proj=", "+lat", "+lon", "+k=", "+x_0", "+y_0", "+ellps", "+a=", "+b=")))
    axes(name, "y", "x", "time", {"prediction": ("precipitation_amount", ONE)}, plane=proj(kept))
    axes("g_nasty/convert_units_data.nc", "y", "x", "time", {
        "air-temperature": ("air_temperature", C), "wind-speed": ("wind_speed", MS), "u_wind": ("eastward_wind", MS)})
    for way in ("decreasing", "increasing"):
        axes(f"g_nasty/latlon_lat{way}.nc", "lat", "lon", "time", {"data_var_1": ("mixing_height", ONE)})
    axes("g_nasty/testDimensionOrder.nc", "lat", "lon", "time", {
        "time_lat_lon": ("air_temperature", C), "time_lon_lat": ("dew_point_temperature", C), "ensemble_time_lat_lon": ("mixing_height", ONE)},
         fixed={"ensemble": 0})
    axes("g_nasty/testOffset.nc", "lat", "lon", "time", {
        "variableWithOffset": ("eastward_wind", KMH), "variableWithoutOffset": ("northward_wind", KMH)})
    cells("g_nasty/test_stageiv_xyt_borked.nc", "lat", "lon", "time",
          {"Total_precipitation_surface_1_Hour_Accumulation": ("precipitation_amount", ONE)}, transposed=True)
    axes("g_nasty/testing_test_monotonic_coordinate.nc", "lat", "lon",
         lambda ds: cf_times(ds, "time1") + cf_times(ds, "time2") + cf_times(ds, "time3"), {"wind1": ("eastward_wind", MS)}, range_only=("eastward_wind",))
    places("g_nasty/vlstr_type.nc", "lat", "lon", "time", {"wind": ("eastward_wind", MS)})
    f = File("g_nasty/cfpython_grouped.nc")
    q = filled(f.ds["forecast/model/q"][:])
    times = cf_times(f.ds["forecast"], "time")
    q[q > 0.06] = np.nan  # no air holds so much: an invented field, whose implausible values are none
    f.report(times, {"forecast/model/q": "specific_humidity"}, {"specific_humidity": q})
    for _ in range(POINTS):
        j, i = f.random.randrange(5), f.random.randrange(8)
        f.at(float(f.ds["lat"][j]), float(f.ds["lon"][i]), "specific_humidity", times, [q[j, i]])


def lambert_text(m):
    parallels = np.atleast_1d(m.standard_parallel)
    figure = f"+R={m.earth_radius}" if hasattr(m, "earth_radius") else f"+a={m.semi_major_axis} +rf={m.inverse_flattening}"
    return (f"+proj=lcc +lat_1={parallels[0]} +lat_2={parallels[-1]} +lat_0={m.latitude_of_projection_origin} "
            f"+lon_0={m.longitude_of_central_meridian} {figure} +x_0={m.false_easting} +y_0={m.false_northing}")


def blows_from(u, v, lon, parallel, meridian):
    """True direction of a wind along the axes of a Lambert grid with one parallel (Snyder 1987, p. 107: the convergence is the
    sine of the parallel times the distance from the central meridian)."""
    return (np.degrees(np.arctan2(-u, -v)) + np.sin(np.radians(parallel)) * ((lon - meridian + 540) % 360 - 180)) % 360


def nam_winds():
    name = "d_grib/nam.t00z.awp21100.tm00.grib2"
    rnd = random.Random(name + " wind")
    (t, la, lo, u), (_, _, _, v) = (grib_fields(name, f"shortName={n}")[0] for n in ("10u", "10v"))
    columns, rows = shape(name)
    for _ in range(POINTS):
        n = rnd.randrange(2, rows - 2) * columns + rnd.randrange(2, columns - 2)
        row(name, "at", la[n], lo[n], "wind_from_direction", stamp(t), float(blows_from(u[n], v[n], lo[n], 25, 265)))
        row(name, "at", la[n], lo[n], "wind_speed", stamp(t), float(np.hypot(u[n], v[n]) * 3.6))


def grib_files():
    nam_winds()
    grib("d_grib/alternate-scanning.grib", {"2t": ("air_temperature", K, "shortName=2t")}, *row_shape("d_grib/alternate-scanning.grib"))
    grib("d_grib/ens_50.grib", {"z": ("level_height", GEOPOTENTIAL, "shortName=z")})
    grib("d_grib/fields_with_missing_values.grib", {"2t": ("air_temperature", K, "shortName=2t")})
    grib("d_grib/flxf2006040100.grb", {
        "2t": ("air_temperature", K, "shortName=2t"), "10u": ("eastward_wind", MS, "shortName=10u"), "10v": ("northward_wind", MS, "shortName=10v"),
        "sp": ("surface_pressure", PA, "shortName=sp"), "prate": ("precipitation_amount", MM_PER_S, "shortName=prate")},
         shape("d_grib/flxf2006040100.grb"), on_land=True)
    grib("d_grib/nam.t00z.awp21100.tm00.grib2", {
        "2t": ("air_temperature", K, "shortName=2t"), "2r": ("relative_humidity", PERCENT, "shortName=2r"),
        "gust": ("wind_gust", MS, "shortName=gust"), "sp": ("surface_pressure", PA, "shortName=sp")},
         shape("d_grib/nam.t00z.awp21100.tm00.grib2"))
    grib("d_grib/polar_stereo.grib2", {"t": ("level_temperature", K, "shortName=t")})
    grib("d_grib/regular_ll_wrong_increment.grib", {"2t": ("air_temperature", K, "shortName=2t")},
         shape("d_grib/regular_ll_wrong_increment.grib"))
    grib("d_grib/rotated_wind_20x20.grib", {"x_wind": ("x_wind", MS, "shortName=10u"), "y_wind": ("y_wind", MS, "shortName=10v")},
         shape("d_grib/rotated_wind_20x20.grib"))


def shape(name):
    keys = "Nx,Ny" if "nam" in name else "Ni,Nj"
    return tuple(int(x) for x in run("grib_get", "-p", keys, f"{FEEDS}/{name}").split()[:2])


def row_shape(name):
    return shape(name), shape(name)[0]


print("# made by independent_reading.py from the weather files; not by the program")
print("file,what,latitude,longitude,name,time,value")
netcdf_files()
grib_files()
