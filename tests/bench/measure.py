#!/usr/bin/python3
"""Measures wall time, processor time and peak memory of the programs named in tests/bench/run and prints them with their ratios.

Every program is run several times, the plain one before each of the others; medians count. Memory is that of all processes of a
program together."""
import argparse
import os
import resource
import statistics
import subprocess
import sys
import time

options = argparse.ArgumentParser(description=__doc__)
options.add_argument("--build", required=True)
options.add_argument("--data", required=True)
options.add_argument("--baseline", required=True, help="the Python program of the same job")
options.add_argument("--rounds", type=int, default=5)
options.add_argument("--counts", type=int, nargs="+", default=[50, 1000, 10000])
options.add_argument("--cycles", nargs="+", default=["f32", "i16", "tile", "classic", "ens"])
options.add_argument("--python", type=int, default=1000, help="units of the Python program")
a = options.parse_args()


def tree(root):
    """The process and all below it."""
    found = [root]
    for pid in found:
        try:
            for task in os.listdir(f"/proc/{pid}/task"):
                with open(f"/proc/{pid}/task/{task}/children") as f:
                    found += [int(child) for child in f.read().split()]
        except OSError:
            pass
    return found


def proportional_kb(pid):
    try:
        with open(f"/proc/{pid}/smaps_rollup") as f:
            return next(int(line.split()[1]) for line in f if line.startswith("Pss:"))
    except (OSError, StopIteration):
        return 0  # it ended in between


def processor_seconds():
    """Of all children that have ended, and theirs."""
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return ended.ru_utime + ended.ru_stime


def run_once(command):
    begin, used = time.perf_counter(), processor_seconds()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    peak = 0
    while process.poll() is None:
        peak = max(peak, sum(map(proportional_kb, tree(process.pid))))
        time.sleep(0.05)
    seconds = time.perf_counter() - begin
    if process.returncode not in (0, 1):
        sys.exit(f"{' '.join(command)} ended with {process.returncode}: {process.stderr.read().decode()[-500:]}")
    return seconds, processor_seconds() - used, peak / 1024


def row(name, command, plain=None):
    """Prints one line; the ratios are of wall and of processor time to those of the plain read, which is run in turn with it."""
    run_once(command)  # the files come into memory
    rounds, beside = [], []
    for _ in range(a.rounds):
        if plain:
            beside.append(run_once(plain))
        rounds.append(run_once(command))
    seconds, processor, memory = (statistics.median(column) for column in zip(*rounds))
    line = f"{name:34s} {seconds:7.2f} {processor:7.2f} {max(r[2] for r in rounds):7.0f}"
    if plain:
        wall, cpu, _ = (statistics.median(column) for column in zip(*beside))
        line += f" {wall:7.2f} {cpu:7.2f} {seconds / wall:7.2f} {processor / cpu:7.2f}"
    print(line, flush=True)


program, reader = os.path.join(a.build, "hakea"), os.path.join(a.build, "tests", "bench_read")
print(f"{'':34s} {'wall s':>7s} {'cpu s':>7s} {'MiB all':>7s} {'plain s':>7s} {'cpu s':>7s} {'wall':>7s} {'cpu':>7s}")
for cycle in a.cycles:
    folder = os.path.join(a.data, cycle)
    everything = [reader, "readall", folder]
    for count in a.counts:
        # One time step after the other is no way to read a file chunked along time: there each chunk is read once.
        plain = [reader, "tiles", folder, str(count)] if cycle == "tile" else everything
        units = os.path.join(a.data, f"units_{count}.geojson")
        if cycle in ("f32", "tile"):
            row(f"{cycle}, {count} units: reading alone", [reader, "points", folder, str(count)], plain)
        row(f"{cycle}, {count} units", [program, "assess", "--units", units, "--feed", folder, "--format", "json"], plain)
    row(f"{cycle}, {a.python} units: Python, NumPy",
        ["/usr/bin/python3", a.baseline, folder, "--units", str(a.python), "--engine", "numpy"],
        everything if cycle != "tile" else [reader, "tiles", folder, str(a.python)])
