"""Every operation of the document, called on the demo: what answers well, and what is refused.

`succeed` tells a story in which every operation does what it is for. `refuse` then gives each operation what it must refuse, a
kind of refusal at a time. Names and ids are those of the demo's district."""

import copy
import time
import urllib.parse

UNIT, FEED, RUN = "sawpit-ridge", "fine", "fine.2027-03-29T12:00:00Z"
SERVED = ("id", "revision", "run", "freshness", "caution")

# Requests that say nothing wrong by themselves, by operation; ids that exist.
IDS = {
    "/districts/{id}": "tallowmere", "/districts/{id}/verification": "tallowmere", "/units/{id}": "new-spur", "/units/{id}/prescription": "new-spur",
    "/units/{id}/trial": UNIT, "/units/{id}/hours": UNIT, "/units/{id}/days": UNIT, "/units/{id}/history": UNIT, "/units/{id}/verification": UNIT,
    "/units/{id}/sheet": UNIT, "/unsubscribe/{id}": "nobody", "/feeds/{id}": FEED, "/runs/{id}": RUN, "/stops/{id}": "festival", "/tokens/{id}": "nobody22",
}

FOR_ANYBODY = ("/openapi.json", "/unsubscribe/{id}", "/cal/{id}")


# Operations other than GET that only answer.
STORE_NOTHING = ("/units/{id}/trial", "/plan")


def without(document, *names):
    return {name: value for name, value in document.items() if name not in names}


class Story:
    def __init__(self, contract, port, operator):
        self.contract, self.port, self.operator = contract, port, operator
        self.ids = dict(IDS)
        self.bodies = {}  # by (method, path), what was taken

    def call(self, method, path, expected, *ids, **more):
        if expected < 300 and more.get("body") is not None:
            self.bodies.setdefault((method, path), more["body"])
        is_write = method != "GET" and expected < 300 and path not in STORE_NOTHING
        before = self.audited() if is_write else 0
        reply = self.contract.call(self.port, method, path, expected, ids, **more)
        if is_write and self.audited() == before:
            self.contract.fail(f"{method} {path}", "left no row in the audit")
        return reply

    def audited(self):
        """The number of the newest row of the audit; asked from elsewhere, so that it is not counted with the story's calls."""
        rows = self.contract.ask(self.port, "GET", "/audit?limit=1", "127.0.4.1").json["audit"]
        return rows[0]["seq"] if rows else 0

    def read(self, path, *ids, **more):
        """Reads it in every form that the document has."""
        types = self.contract.operations["GET", path]["responses"]["200"]["content"]
        return [self.call("GET", path, 200, *ids, accept=each, **more) for each in types][0]

    def etag(self, path, *ids):
        return self.call("GET", path, 200, *ids).headers["etag"]

    # ---------------------------------------------------------------- what answers well

    def succeed(self):
        self.of_tokens()
        self.of_districts_and_units()
        self.of_days()
        self.of_entries()
        self.of_subscriptions()
        self.of_calendars()
        self.of_the_service()
        self.of_events()

    def of_tokens(self):
        """Tokens for the callers below. The demo's own caller is coordinator."""
        def token(**wish):
            return self.call("POST", "/tokens", 201, body={"name": "contract test", **wish}, token=self.operator).json
        self.coordinator = token(role="coordinator")["token"]
        # May write subscriptions and nothing else, not even read.
        self.narrow = token(role="officer", scopes=["subscriptions:write"])["token"]
        self.viewer = token(role="viewer")["token"]
        self.read("/tokens", token=self.operator)
        spare = token(role="viewer", expires_at="2027-04-20T12:00:00+10:00")
        self.call("DELETE", "/tokens/{id}", 204, spare["id"], token=self.operator)

        self.read("/session")
        signed = self.call("POST", "/session", 201, body={"token": self.coordinator})
        cookie = {"Cookie": signed.headers.get("set-cookie", "").split(";")[0]}
        self.read("/session", headers=cookie)
        self.call("DELETE", "/session", 204, headers={**cookie, "Sec-Fetch-Site": "same-origin", "Content-Type": "application/json"})

    def of_districts_and_units(self):
        self.read("/districts")
        self.call("GET", "/districts", 200, query={"limit": 1})
        district = self.read("/districts/{id}", "tallowmere").json
        self.call("PUT", "/districts/{id}", 200, "tallowmere", body=without(district, *SERVED))
        self.call("PUT", "/districts/{id}", 201, "second", body={"name": "Second", "time_zone": "Australia/Sydney"},
                  headers={"If-None-Match": "*"})

        units = self.read("/units")
        first = self.call("GET", "/units", 200, query={"limit": 2, "bbox": "152.2,-38,153,-37.4", "district": "tallowmere",
                                                       "status": "ready", "updated_since": "2026-01-01T00:00:00Z"})
        self.contract.check_value("the first page of /units", {"type": "object", "required": ["links"]}, first.json)
        for unit in units.json["features"]:
            self.call("GET", "/units/{id}", 200, unit["id"], query={"tz": "unit"})
        feature = self.read("/units/{id}", UNIT).json
        sent = {**copy.deepcopy(without(feature, *SERVED)), "id": "new-spur"}
        sent["properties"]["name"] = "New Spur"
        self.call("POST", "/units", 201, body=sent)
        self.call("PUT", "/units/{id}", 200, "new-spur", body=sent, headers={"If-Match": self.etag("/units/{id}", "new-spur")})
        self.call("PUT", "/units/{id}", 201, "third-spur", body=without(sent, "id"), headers={"If-None-Match": "*"})
        self.call("PATCH", "/units/{id}", 200, "new-spur", body={"properties": {"priority": 2, "airshed": None}})
        self.call("DELETE", "/units/{id}", 204, "third-spur", query={"reason": "drawn twice"})
        self.call("GET", "/units", 200, query={"status": "retired"})
        self.call("GET", "/units/{id}", 200, "third-spur")

        path = "/units/{id}/prescription"
        prescription = without(self.read(path, "new-spur").json, *SERVED, "unit", "which")
        self.call("PUT", path, 200, "new-spur", body=prescription)
        self.call("PUT", path, 201, "new-spur", body=prescription, query={"which": "edging"})
        self.call("GET", path, 200, "new-spur", query={"which": "edging"})
        wetter = copy.deepcopy(prescription)
        wetter["limits"][0]["acceptable"] = {"min": 30}
        wetter["limits"][0].pop("preferred")
        trial = self.call("POST", "/units/{id}/trial", 200, UNIT, body=wetter, query={"run": RUN})
        if not trial.json.get("changed"):
            self.contract.fail("the trial", "changes no day, so that what it says of changes was not looked at")

    def of_days(self):
        self.read("/quantities")
        self.read("/units/{id}/hours", UNIT)
        self.call("GET", "/units/{id}/hours", 200, UNIT, query={"quantities": "ffdi,kbdi", "from": "2027-03-31", "to": "2027-04-01",
                                                                "run": RUN, "tz": "unit"})
        self.call("GET", "/units/{id}/hours", 200, UNIT, accept="text/csv", query={"from": "2027-03-31T00:00:00+11:00"})
        self.read("/hours", query={"units": f"{UNIT},emu-track", "quantities": "ffdi"})
        self.read("/units/{id}/days", UNIT)
        for unit in self.call("GET", "/units", 200).json["features"]:
            self.call("GET", "/units/{id}/days", 200, unit["id"], query={"tz": "unit"})
        self.call("GET", "/units/{id}/days", 200, UNIT, query={"compare": "2027-04-01,2027-04-02"})
        self.call("GET", "/units/{id}/days", 200, "new-spur", query={"which": "edging"})
        self.read("/units/{id}/history", UNIT)
        self.read("/units/{id}/verification", UNIT)
        self.read("/districts/{id}/verification", "tallowmere")
        self.read("/days")
        self.call("GET", "/days", 200, query={"from": "2027-04-01", "to": "2027-04-03", "verdict": "met,near_miss", "tz": "unit",
                                              "district": "tallowmere", "compare": f"{UNIT},emu-track"})
        self.read("/units/{id}/sheet", UNIT, query={"date": "2027-04-02"})
        self.read("/digest", query={"district": "tallowmere", "date": "2027-03-30"})
        self.read("/plan", query={"district": "tallowmere", "from": "2027-04-01", "to": "2027-04-02"})
        self.call("POST", "/plan", 200, query={"district": "tallowmere"},
                  body={"from": "2027-04-01", "to": "2027-04-02", "without": [{"unit": "emu-track"}], "means": {"shared": {"aircraft": 0}}})

    def of_entries(self):
        seeded = self.read("/bookings").json["bookings"][0]
        self.ids["/bookings/{id}"] = seeded["id"]
        self.read("/bookings/{id}", seeded["id"])
        # An official forecast, which days and bookings show from then on.
        official = {"unit": UNIT, "at": "2027-04-02T13:00:00+11:00", "kind": "official_forecast",
                    "values": {"wind_speed": {"value": 60, "unit": "km/h"}, "air_temperature": {"value": 20, "unit": "Cel"}}}
        key = (f'"contract-{number}"' for number in range(100))
        self.call("POST", "/observations", 201, body=official, headers={"Idempotency-Key": next(key)})
        days = self.call("GET", "/units/{id}/days", 200, UNIT)
        if "official" not in days.json:
            self.contract.fail("the days", "show no official forecast")
        booking = {"unit": UNIT, "date": "2027-04-02", "state": "draft", "note": "second crew",
                   "notices": [{"kind": "neighbours", "for": ["2027-04-02"]}]}
        made = self.call("POST", "/bookings", 201, body=booking).json
        # As it was read, with all that answers add.
        self.call("PUT", "/bookings/{id}", 200, made["id"], body={**booking, "state": "committed"})
        self.call("GET", "/bookings", 200, query={"district": "tallowmere", "unit": UNIT, "state": "committed", "from": "2027-04-01",
                                                  "to": "2027-04-03", "updated_since": "2026-01-01T00:00:00Z", "limit": 1})
        self.call("GET", "/bookings", 200, query={"limit": 1})
        second = self.call("POST", "/bookings", 201, body={"unit": "emu-track", "date": "2027-04-02"}).json
        self.call("DELETE", "/bookings/{id}", 204, second["id"], query={"reason": "entered twice"})

        stop = {"scope": {"airshed": "coast"}, "from": "2027-04-04", "to": "2027-04-05T18:00:00+10:00", "kind": "period", "why": "harvest"}
        self.read("/stops")
        forbidden = self.call("POST", "/stops", 201, body=stop).json
        self.read("/stops/{id}", forbidden["id"])
        self.call("PUT", "/stops/{id}", 200, forbidden["id"], body={**stop, "to": "2027-04-06"})
        self.call("GET", "/stops", 200, query={"district": "tallowmere", "from": "2027-04-04", "to": "2027-04-05",
                                               "updated_since": "2026-01-01T00:00:00Z", "limit": 1})
        self.call("GET", "/days", 200, query={"from": "2027-04-04", "to": "2027-04-04"})
        self.call("DELETE", "/stops/{id}", 200, forbidden["id"], body={"reason": "rain came first"})

        reading = {"unit": UNIT, "at": "2027-03-30T06:20:00+11:00", "values": {"relative_humidity": {"value": 52, "unit": "%"}}}
        station = {"station": "ridge-top", "position": [152.6, -37.72], "elevation_m": 300, "at": "2027-03-30T06:00:00+11:00", "kind": "reading", "values": {"air_temperature": {"value": 285, "unit": "K"}}}
        one = self.call("POST", "/observations", 201, body=reading, headers={"Idempotency-Key": next(key)}).json
        self.call("POST", "/observations", 201, body=[reading, station], headers={"Idempotency-Key": next(key)})
        self.call("POST", "/observations", 201, body=station, token=self.coordinator, headers={"Idempotency-Key": next(key)})
        self.ids["/observations/{id}"] = one["id"]
        self.read("/observations/{id}", one["id"])
        self.read("/observations")
        self.call("GET", "/observations", 200, query={"station": "ridge-top"})
        self.call("GET", "/observations", 200, query={"district": "tallowmere", "unit": UNIT, "kind": "reading", "from": "2027-03-29T00:00:00Z",
                                                      "to": "2027-03-30T00:00:00Z", "updated_since": "2026-01-01T00:00:00Z", "limit": 1})
        self.call("GET", "/units/{id}/hours", 200, UNIT)

        outcome = {"unit": "back-paddock", "date": "2027-03-29", "result": "part_burnt", "treated_ha": 20, "coverage_pct": 60, "scorch_m": 1,
                   "stopped": {"at": "2027-03-29T15:20:00+11:00", "reason": "wind"}, "note": "western half"}
        became = self.call("POST", "/outcomes", 201, body=outcome, headers={"Idempotency-Key": next(key)}).json
        self.ids["/outcomes/{id}"] = became["id"]
        self.call("PUT", "/outcomes/{id}", 200, became["id"], body={**outcome, "treated_ha": 25, "reason": "measured again"})
        self.read("/outcomes/{id}", became["id"])
        self.read("/outcomes")
        self.call("GET", "/outcomes", 200, query={"district": "tallowmere", "unit": "back-paddock", "result": "part_burnt", "from": "2027-03-01",
                                                  "to": "2027-03-31", "updated_since": "2026-01-01T00:00:00Z", "limit": 1})

    def of_subscriptions(self):
        # Receivers that are nowhere, the second refused at once: what becomes of deliveries is looked at, not that they arrive.
        wish = {"channel": {"kind": "webhook", "url": "https://hooks.shire.example/burn"}, "events": ["window.*", "run.*", "open_burn.*"],
                "units": [UNIT], "confidence": ["firm", "likely"], "lead": {"min": "PT1H", "max": "PT96H"}, "batch": "PT15M", "daily_cap": 20,
                "quiet": {"from": "21:00", "to": "05:30", "time_zone": "Australia/Sydney"}, "note": "of the contract test"}
        made = self.call("POST", "/subscriptions", 201, body=wish).json
        self.ids.update({path: made["id"] for path in self.contract.paths_below("/subscriptions/{id}")})
        self.read("/subscriptions")
        self.read("/subscriptions/{id}", made["id"])
        self.call("PUT", "/subscriptions/{id}", 200, made["id"], body={**wish, "events": ["*"], "units": [], "confidence": [], "lead": {}})
        self.call("PUT", "/subscriptions/{id}", 200, made["id"], body={**wish, "channel": {**wish["channel"], "url": "https://127.0.0.1/other"}})
        self.call("POST", "/subscriptions/{id}/rotate-secret", 200, made["id"])
        self.call("POST", "/subscriptions/{id}/test", 202, made["id"])
        spare = self.call("POST", "/subscriptions", 201, body={"channel": wish["channel"], "events": ["feed.late.v1"]}).json
        self.call("DELETE", "/subscriptions/{id}", 204, spare["id"])
        self.read("/deliveries")
        self.old_delivery = self.call("GET", "/deliveries", 200, query={"subscription": made["id"]}).json["deliveries"][-1]["id"]
        self.call("GET", "/deliveries", 200, query={"subscription": made["id"], "state": "delivered", "limit": 5})
        page = self.call("GET", "/deliveries", 200, query={"limit": 1})
        cursor = urllib.parse.parse_qs(urllib.parse.urlsplit(page.headers.get("link", "").strip("<").split(">")[0]).query).get("cursor", [""])
        self.call("GET", "/deliveries", 200, query={"limit": 1, "cursor": cursor[0]})

    def of_calendars(self):
        def file_of(made):
            return made["address"].rsplit("/", 1)[1]
        made = self.call("POST", "/calendars", 201, body={"district": "tallowmere"}).json
        self.ids["/calendars/{id}"] = made["id"]
        self.ids["/cal/{id}"] = file_of(made)
        chosen = self.call("POST", "/calendars", 201, body={"units": [UNIT, "emu-track"], "name": "Two units"}).json
        self.read("/calendars")
        self.read("/calendars/{id}", made["id"])
        if b"BEGIN:VEVENT" not in self.read("/cal/{id}", file_of(made)).body:
            self.contract.fail("the calendar", "has no event")
        self.call("DELETE", "/calendars/{id}", 204, chosen["id"])
        self.call("DELETE", "/calendars/{id}", 404, chosen["id"])
        self.call("GET", "/cal/{id}", 410, file_of(chosen))

    def of_events(self):
        self.read("/events")
        self.call("GET", "/events", 200, query={"kinds": "yes"})
        self.call("GET", "/events", 200, accept="text/event-stream", headers={"Last-Event-ID": "0"})
        events = self.call("GET", "/events", 200, query={"limit": 1000}).json["events"]
        if not events:
            self.contract.fail("the log of events", "is empty")
            return
        self.call("GET", "/events", 200, query={"types": "window.*,run.published.v1", "district": "tallowmere", "unit": UNIT, "after": "0"})
        self.call("GET", "/events", 200, query={"before": "5", "limit": 2})
        for kind in {event["type"]: event for event in events}.values():
            self.contract.check_webhook(kind)
        self.ids["/events/{id}/acknowledge"] = events[0]["id"]
        self.call("POST", "/events/{id}/acknowledge", 200, events[0]["id"])
        subscription = self.ids["/subscriptions/{id}"]
        self.call("POST", "/subscriptions/{id}/test", 202, subscription)
        fresh = self.call("GET", "/deliveries", 200, query={"subscription": subscription}).json["deliveries"][0]["id"]
        self.ids["/deliveries/{id}/retry"] = fresh
        for _ in range(60):  # one that is being sent cannot be sent again
            if self.call("GET", "/deliveries", 200, query={"state": "sending"}).json["deliveries"] == []:
                break
            time.sleep(1)
        self.call("POST", "/deliveries/{id}/retry", 202, fresh)

    def of_the_service(self):
        self.call("POST", "/demo/clock", 200, body={"to": "2027-03-31T06:45:00+11:00"})
        self.call("POST", "/deliveries/{id}/retry", 409, self.old_delivery)  # what it tells is over
        self.read("/feeds")
        self.read("/feeds/{id}", FEED)
        self.read("/runs")
        self.call("GET", "/runs", 200, query={"feed": FEED, "state": "complete", "limit": 1})
        self.read("/runs/{id}", RUN)
        self.read("/status")
        self.read("/audit")
        self.call("GET", "/audit", 200, query={"before": 20, "limit": 2})
        self.read("/openapi.json")
        # What the newer runs changed.
        self.read("/days")
        self.read("/bookings")
        self.read("/digest", query={"district": "tallowmere"})
        self.call("GET", "/units/{id}/verification", 200, UNIT)
        self.call("GET", "/districts/{id}/verification", 200, "tallowmere")
        self.call("GET", "/units/{id}/history", 200, UNIT)

    # ---------------------------------------------------------------- what is refused

    def good(self, method, path):
        """Ids and body that would do."""
        ids = [self.ids[path]] if "{id}" in path else []
        body = self.bodies.get((method, path))
        if (method, path) == ("PUT", "/bookings/{id}"):
            body = {"unit": "log-landing-heaps", "date": "2027-03-28", "state": "mop_up", "lit_at": "2027-03-28T09:30:00+11:00"}
        if (method, path) == ("POST", "/units"):
            body = {**body, "id": "fourth-spur"}
        return ids, body

    def use_a_key(self):
        """A request whose key others then come with."""
        self.call("PUT", "/districts/{id}", 200, "second", body={"name": "Second", "time_zone": "Australia/Sydney"},
                  headers={"Idempotency-Key": '"demos"'})

    def refuse(self):
        contract = self.contract
        self.use_a_key()
        operations = [(method, path, operation["responses"]) for (method, path), operation in contract.operations.items()]
        for number, (method, path, responses) in enumerate(operations):
            ids, body = self.good(method, path)
            # Requests are counted by address; one address would soon have sent too many.
            here = {"address": f"127.0.1.{number + 1}"}

            def refused(status, *ids, **more):
                if str(status) in responses:
                    contract.call(self.port, method, path, status, ids, **{**here, **more})

            boss = self.operator if path.startswith("/tokens") else None
            refused(400, *ids, query={"nonsense": "1"}, token=boss)
            if path in FOR_ANYBODY:
                pass
            elif path == "/session" and method == "POST":
                refused(401, body={"token": "hakea_unknown2_" + "A" * 43})
                refused(403, body={"token": self.coordinator}, headers={"Origin": "https://elsewhere.example"})
            else:
                refused(401, *ids, body=body, headers={"X-Forwarded-For": "192.0.2.7"})
                is_of_alerts = path.startswith(("/subscriptions", "/deliveries", "/events", "/calendars")) and method != "GET"
                refused(403, *ids, body=body, token=self.viewer if is_of_alerts else self.narrow)
            for filter, words in contract.words_of(method, path):
                contract.call(self.port, method, path, 400, ids, query={filter: f"un{words[0]}"}, token=boss, **here)
            refused(406, *ids, body=body, token=boss, accept="application/x-nothing")
            if "requestBody" in contract.operations[method, path]:
                refused(415, *ids, body="a,b", token=boss, headers={"Content-Type": "text/csv"})
            refused(412, *ids, body=body, token=self.coordinator, headers={"If-Match": '"r999999"', "Idempotency-Key": f'"412-{number}"'})
            refused(428, *ids, body=body, token=self.coordinator)
            contract.call(self.port, method, path, 431, ids, long_head=True, **here)
            if contract.takes(method, path, "Idempotency-Key"):
                refused(422, *ids, body=body, headers={"Idempotency-Key": '"demos"'})
            if "304" in responses:
                self.unchanged(method, path, ids, here)
            if "{id}" in path and path != "/districts/{id}" or path == "/districts/{id}" and method == "GET":
                refused(404, "nobody", body=body, token=boss)
        self.refuse_one_by_one()
        self.refuse_too_many(operations)

    def unchanged(self, method, path, ids, here):
        query = {"district": "tallowmere"} if path == "/digest" else {}
        for _ in range(3):  # a new picture may come between the two
            tag = self.contract.call(self.port, method, path, 200, ids, query=query, **here).headers.get("etag", "")
            reply = self.contract.call(self.port, method, path, 304, ids, query=query, headers={"If-None-Match": tag}, **here)
            if reply.status == 304:
                return

    def refuse_one_by_one(self):
        refused = self.call
        nobody = {"query": {"district": "nobody"}}
        for path in ("/days", "/digest", "/plan"):
            refused("GET", path, 404, **nobody)
        refused("GET", "/hours", 404, query={"units": "nobody"})
        refused("POST", "/plan", 404, body={}, **nobody)
        refused("POST", "/units/{id}/trial", 404, UNIT, body=self.bodies["POST", "/units/{id}/trial"], query={"run": "fine.2027-01-01T00:00:00Z"})
        refused("GET", "/units/{id}/hours", 404, "third-spur")
        refused("GET", "/units/{id}/hours", 404, UNIT, query={"run": "fine.2027-01-01T00:00:00Z"})
        refused("DELETE", "/session", 404)
        refused("GET", "/plan", 422, query={"district": "tallowmere", "from": "2027-01-01", "to": "2027-12-31"})
        for path, query in (("/days", {"from": "2027-04-03", "to": "2027-04-01"}), ("/units", {"bbox": "1,2,3"}), ("/units", {"cursor": "x"}),
                            ("/bookings", {"limit": "0"}), ("/observations", {"from": "2027-04-03T00:00:00"}), ("/digest", {"date": "tomorrow"}),
                            ("/hours", {"from": "2027-04-03", "to": "2027-04-01"})):
            refused("GET", path, 400, query=query)
        for method, path in (("POST", "/units"), ("PUT", "/districts/{id}"), ("POST", "/stops"), ("POST", "/demo/clock"), ("POST", "/session")):
            refused(method, path, 400, *([self.ids[path]] if "{id}" in path else []), body="{", address="127.0.2.1")
        refused("POST", "/observations", 400, body=self.bodies["POST", "/observations"], token=self.coordinator)
        refused("POST", "/bookings", 400, body=self.bodies["POST", "/bookings"], headers={"Idempotency-Key": "no-quotes"})

        wrong = {"nonsense": 1}
        for method, path in (("POST", "/units"), ("PUT", "/units/{id}"), ("PUT", "/units/{id}/prescription"), ("POST", "/units/{id}/trial"),
                             ("PUT", "/districts/{id}"), ("POST", "/plan"), ("POST", "/bookings"), ("PUT", "/bookings/{id}"), ("POST", "/stops"),
                             ("PUT", "/stops/{id}"), ("POST", "/observations"), ("POST", "/outcomes"), ("PUT", "/outcomes/{id}"), ("POST", "/session"),
                             ("POST", "/demo/clock"), ("POST", "/calendars"), ("POST", "/subscriptions"), ("PUT", "/subscriptions/{id}")):
            query = {"district": "tallowmere"} if path == "/plan" else None
            refused(method, path, 422, *([self.ids[path]] if "{id}" in path else []), body=wrong, query=query, address="127.0.2.2")
        refused("PATCH", "/units/{id}", 422, "new-spur", body={"properties": {"priority": 9}})
        refused("DELETE", "/stops/{id}", 422, "festival", body={"reason": " "})
        refused("POST", "/tokens", 422, body=wrong, token=self.operator)

        refused("POST", "/units", 409, body=self.bodies["POST", "/units"])
        refused("POST", "/bookings", 409, body={"unit": UNIT, "date": "2027-04-02", "state": "stood_down"})
        refused("PUT", "/bookings/{id}", 409, self.ids["/bookings/{id}"], body={"unit": "log-landing-heaps", "date": "2027-03-28", "state": "committed"})

    def refuse_too_many(self, operations):
        """An address from which too many unknown tokens came is listened to no more, but for one that is known."""
        away, unknown = "127.0.3.1", "hakea_unknown2_" + "A" * 43
        for _ in range(10):
            self.call("GET", "/status", 401, token=unknown, address=away)
        for method, path, responses in operations:
            if path not in FOR_ANYBODY:
                ids, body = self.good(method, path)
                if (method, path) == ("POST", "/session"):
                    body = {"token": unknown}
                self.call(method, path, 429, *ids, body=body, token=None if path == "/session" and method == "POST" else unknown, address=away)
        self.call("GET", "/status", 200, token=self.coordinator, address=away)
