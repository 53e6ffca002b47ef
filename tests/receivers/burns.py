"""The service on the demo's district, beside receivers of this machine: its configuration, a coordinator, and what goes wrong."""

import http.client
import json
import pathlib
import subprocess
import sys
import threading
import time

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "contract"))
from service_process import Service  # noqa: E402

NOW = "2027-03-30T06:40:00+11:00"
UNIT, DATE = "sawpit-ridge", "2027-04-02"
CONFIG = """
[service]
data = "data"
port = 0
admin_port = 0
[feeds.fine]
path = "data/feeds/fine"
pattern = "*T12Z.nc"
hours = "0/90/1"
[feeds.coarse]
path = "data/feeds/coarse"
"""


def certificate(folder):
    """A key and a certificate of localhost, as files."""
    key, made = folder / "key.pem", folder / "localhost.pem"
    subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj", "/CN=localhost",
                    "-addext", "subjectAltName=DNS:localhost", "-keyout", str(key), "-out", str(made)], check=True, capture_output=True)
    return key, made


class Burns:
    """A folder with what the demo's district has entered, and the service that goes on from there."""

    def __init__(self, program, folder, more):
        run = lambda *words: subprocess.run([program, *words], check=True, capture_output=True, text=True).stdout
        run("demo", "--once", "--data", str(folder / "data"))
        config = str(folder / "service.toml")
        pathlib.Path(config).write_text(CONFIG + more, encoding="utf-8")
        self.token = run("token", "create", "--config", config, "--name", "receivers", "--role", "coordinator", "--days", "366").strip()
        self.words = [program, "serve", "--config", config, "--now"]
        self.service = Service(*self.words, NOW)

    def go_on_at(self, now):
        """Ends the service and begins it again at a later time."""
        self.service.__exit__()
        self.service = Service(*self.words, now)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.service.__exit__()

    def ask(self, method, path, body=None, status=200, token=True):
        connection = http.client.HTTPConnection("127.0.0.1", self.service.port, timeout=120)
        headers = {"Authorization": f"Bearer {self.token}"} if token else {}
        if method == "DELETE":
            headers["If-Match"] = '"r1"'
        if body is not None:
            headers["Content-Type"] = "application/json"
        connection.request(method, "/api/v1" + path, json.dumps(body) if body is not None else None, headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        if answer.status != status:
            raise RuntimeError(f"{method} {path} answered {answer.status} and not {status}: {text}")
        return json.loads(text) if text else None

    def lose_a_booking(self, why):
        """Books the unit's window and blocks its day, which has to be told at once; what it did can be done again."""
        booking = self.ask("POST", "/bookings", {"unit": UNIT, "date": DATE, "state": "committed"}, 201)
        stop = self.ask("POST", "/stops", {"scope": {"unit": UNIT}, "from": DATE, "to": DATE, "kind": "other", "why": why}, 201)
        return booking["id"], stop["id"]

    def undo(self, booking, stop):
        self.ask("DELETE", f"/stops/{stop}?reason=over")
        self.ask("DELETE", f"/bookings/{booking}", status=204)

    def delivery(self, subscription, state):
        """The first delivery that comes to a state."""
        for _ in range(600):
            found = self.ask("GET", f"/deliveries?subscription={subscription}&state={state}")["deliveries"]
            if found:
                return found[0]
            time.sleep(0.1)
        raise RuntimeError(f"no delivery of {subscription} is {state}: {self.ask('GET', '/deliveries')}\n{''.join(self.service.said)}")


class Heap:
    """What came, in order; whoever waits for more than comes is told so."""

    def __init__(self):
        self.all, self.came = [], threading.Condition()

    def put(self, one):
        with self.came:
            self.all.append(one)
            self.came.notify_all()

    def at(self, place):
        with self.came:
            if not self.came.wait_for(lambda: len(self.all) > place, 60):
                raise RuntimeError(f"only {len(self.all)} messages came")
            return self.all[place]


class Findings:
    """Counts what was looked at and keeps what is wrong."""

    def __init__(self):
        self.checks, self.failures = 0, []

    def equal(self, found, wanted, what):
        self.checks += 1
        if found != wanted:
            self.failures.append(f"{what}: {found!r}, and not {wanted!r}")

    def true(self, is_so, what):
        self.equal(bool(is_so), True, what)

    def told(self):
        for failure in self.failures:
            print(failure)
        print(f"{self.checks} checks, {len(self.failures)} failures")
        return 1 if self.failures or not self.checks else 0
