#!/usr/bin/python3
"""Requests per second and the slowest hundredth of what the service answers, beside a file of the same size that nginx sends.

    tests/bench/serve.py BUILD_FOLDER [ROUNDS]

Both run in turn on the same machine with one process that takes connections, under wrk with one thread and 32 connections that stay
open; medians count. Needs nginx-light and wrk, and bench_serve built in BUILD_FOLDER (ninja bench_serve)."""
import pathlib
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request

SECONDS, CONNECTIONS = 4, 32
ANSWERS = [
    ("/api/v1/days", "gzip"),
    ("/api/v1/units/sawpit-ridge/days", "gzip"),
    ("/api/v1/units/sawpit-ridge/hours", "gzip"),
    ("/api/v1/units/sawpit-ridge/days", "identity"),
]


def fetched(url, coding):
    request = urllib.request.Request(url, headers={"Accept-Encoding": coding})
    with urllib.request.urlopen(request) as answer:
        return answer.read()


def load(url, coding):
    """Requests a second and the 99th percentile of their time, ms."""
    said = subprocess.run(
        ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{SECONDS}s", "--latency", "-H", f"Accept-Encoding: {coding}", url],
        check=True, capture_output=True, text=True).stdout
    if "Non-2xx" in said or "Socket errors" in said:
        raise SystemExit(f"{url} was not answered well:\n{said}")
    value, unit = re.search(r"99%\s+([\d.]+)(us|ms|s)", said).groups()
    per_second = float(re.search(r"Requests/sec:\s+([\d.]+)", said).group(1))
    return per_second, float(value) * {"us": 1e-3, "ms": 1, "s": 1e3}[unit]


def nginx_of(folder, port):
    (folder / "nginx.conf").write_text(f"""
worker_processes 1; daemon off; pid {folder}/nginx.pid; error_log {folder}/error.log;
events {{ worker_connections 1024; }}
http {{
  access_log off; sendfile on; tcp_nopush on; keepalive_requests 100000000;
  client_body_temp_path {folder}/a; proxy_temp_path {folder}/b; fastcgi_temp_path {folder}/c;
  uwsgi_temp_path {folder}/d; scgi_temp_path {folder}/e;
  server {{ listen 127.0.0.1:{port}; root {folder}/files; }}
}}
""")
    subprocess.run(["chmod", "-R", "a+rX", str(folder)], check=True)
    return subprocess.Popen(["nginx", "-c", str(folder / "nginx.conf")], stderr=subprocess.DEVNULL)


def main():
    build = pathlib.Path(sys.argv[1])
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "files").mkdir()
        service = subprocess.Popen([build / "tests" / "bench_serve", folder / "data"], stdout=subprocess.PIPE,
                                   stderr=subprocess.DEVNULL, text=True)
        port = next(int(line) for line in service.stdout if line.strip().isdigit())  # among those of the log
        origin, files = f"http://127.0.0.1:{port}", f"http://127.0.0.1:{port + 1}"
        before, now = b"", fetched(origin + ANSWERS[0][0], "identity")
        while b'"verdict"' not in now or now != before:  # until the last run is published
            time.sleep(3)
            before, now = now, fetched(origin + ANSWERS[0][0], "identity")
        sizes = []
        for i, (path, coding) in enumerate(ANSWERS):
            body = fetched(origin + path, coding)
            sizes.append(len(body))
            (folder / "files" / f"{i}.bin").write_bytes(body)
        nginx = nginx_of(folder, port + 1)
        time.sleep(1)
        try:
            print("| answer | bytes | a second | p99 ms | nginx a second | p99 ms | ratio |\n|---|---|---|---|---|---|---|")
            for i, (path, coding) in enumerate(ANSWERS):
                ours, theirs = [], []
                for _ in range(rounds):
                    theirs.append(load(f"{files}/{i}.bin", "identity"))
                    ours.append(load(origin + path, coding))
                (r, p), (nr, np) = ([statistics.median(x) for x in zip(*side)] for side in (ours, theirs))
                print(f"| `{path}` {coding} | {sizes[i]} | {r:.0f} | {p:.2f} | {nr:.0f} | {np:.2f} | {r / nr:.2f} |")
        finally:
            for process in (nginx, service):
                process.send_signal(signal.SIGTERM)
                process.wait()


if __name__ == "__main__":
    main()
