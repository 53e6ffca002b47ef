#!/usr/bin/python3
"""Measures wall time and peak memory of the programs named in tests/bench/run and prints them with their ratios."""
import argparse
import os
import subprocess
import sys
import time

options = argparse.ArgumentParser(description=__doc__)
options.add_argument("--build", required=True)
options.add_argument("--data", required=True)
options.add_argument("--baseline", required=True, help="the Python program of the same job")
options.add_argument("--rounds", type=int, default=3)
options.add_argument("--counts", type=int, nargs="+", default=[50, 1000, 10000])
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


def run_once(command):
    begin = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    peak = 0
    while process.poll() is None:
        peak = max(peak, sum(map(proportional_kb, tree(process.pid))))
        time.sleep(0.05)
    seconds = time.perf_counter() - begin
    if process.returncode not in (0, 1):
        sys.exit(f"{' '.join(command)} ended with {process.returncode}: {process.stderr.read().decode()[-500:]}")
    return seconds, peak / 1024


def measure(command):
    rounds = [run_once(command) for _ in range(a.rounds)]
    return min(seconds for seconds, _ in rounds), max(peak for _, peak in rounds)


program, reader = os.path.join(a.build, "hakea"), os.path.join(a.build, "tests", "bench_read")
plain, memory = measure([reader, "readall", os.path.join(a.data, "f32")])
print(f"{'plain read of everything (f32)':40s} {plain:7.2f} s {memory:7.0f} MiB   1.00")
for cycle in ("f32", "tile"):
    folder = os.path.join(a.data, cycle)
    for count in a.counts:
        units = os.path.join(a.data, f"units_{count}.geojson")
        for name, command in (
            ("reading alone", [reader, "points", folder, str(count)]),
            ("hakea assess", [program, "assess", "--units", units, "--feed", folder, "--format", "json"]),
            ("Python, numpy engine", ["/usr/bin/python3", a.baseline, folder, "--units", str(count), "--engine", "numpy"]),
        ):
            seconds, memory = measure(command)
            print(f"{cycle + ', ' + str(count) + ' units: ' + name:40s} {seconds:7.2f} s {memory:7.0f} MiB   {seconds / plain:.2f}", flush=True)
