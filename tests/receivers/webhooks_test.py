#!/usr/bin/env python3
"""Messages of the service, received by the public library `standardwebhooks`: webhooks_test.py PROGRAM

Needs node and npm, the packages python3 and openssl of Debian 12, and the library at the version of the lock file, which is fetched
once."""

import json
import pathlib
import subprocess
import sys
import tempfile
import threading

import burns

HERE = pathlib.Path(__file__).parent


class Receiver:
    def __init__(self, key, certificate):
        if not (HERE / "node_modules" / "standardwebhooks").exists():
            subprocess.run(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"], cwd=HERE, check=True)
        self.process = subprocess.Popen(["node", str(HERE / "receiver.mjs"), str(key), str(certificate)], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, text=True)
        self.port = int(self.process.stdout.readline())
        self.messages = burns.Heap()
        threading.Thread(target=lambda: [self.messages.put(json.loads(line)) for line in self.process.stdout], daemon=True).start()

    def knows(self, secret):
        self.process.stdin.write(secret + "\n")
        self.process.stdin.flush()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.stdin.close()
        self.process.wait(60)


def main(program):
    found = burns.Findings()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        key, certificate = burns.certificate(folder)
        with Receiver(key, certificate) as receiver:
            more = f'[webhooks]\nallow_networks = ["127.0.0.0/8", "::1/128"]\nports = [{receiver.port}]\nca_file = "localhost.pem"\n'
            with burns.Burns(program, folder, more) as service:
                look_at(service, receiver, found)
    return found.told()


def look_at(service, receiver, found):
    wish = {"channel": {"kind": "webhook", "url": f"https://localhost:{receiver.port}/burn"}, "events": ["booking.*", "window.*"]}
    made = service.ask("POST", "/subscriptions", wish, 201)
    found.equal(made["state"], "pending", "the subscription before its test")
    receiver.knows(made["secret"])
    test = receiver.messages.at(0)
    found.equal((test["method"], test["path"]), ("POST", "/burn"), "how the test is sent")
    found.equal(test["verified"], [True], "the test by its secret")
    found.equal(test["believed"], 0, "spoiled tests that are believed")
    found.equal(json.loads(test["body"])["type"], "subscription.test.v1", "the type of the test")
    service.delivery(made["id"], "delivered")
    found.equal(service.ask("GET", f"/subscriptions/{made['id']}")["state"], "active", "the subscription after its test")

    # Letters of other scripts, and what means something in JSON: the library is given the bytes as they came.
    service.lose_a_booking('Straßenfest, "closed" \\ µ – 日本')
    alert = receiver.messages.at(1)
    event = json.loads(alert["body"])
    found.equal(alert["verified"], [True], "an alert by the secret")
    found.equal(alert["believed"], 0, "spoiled alerts that are believed")
    found.equal(alert["type"], "application/cloudevents+json", "its content type")
    found.equal(alert["id"], "msg_" + event["id"], "its id")
    found.equal((event["specversion"], event["type"], event["subject"]), ("1.0", "booking.window_lost.v1", f"{burns.UNIT}/{burns.DATE}"), "the event")
    found.true(any("日本" in why for why in event["data"]["why"]), f"the reason in {event['data']['why']}")

    # While a secret is rotated both sign: whoever knows one of the two believes the message.
    rotated = service.ask("POST", f"/subscriptions/{made['id']}/rotate-secret")["secret"]
    found.true(rotated != made["secret"], "a rotated secret is another")
    receiver.knows(rotated)
    receiver.knows("whsec_" + "A" * 43 + "=")
    service.ask("POST", f"/subscriptions/{made['id']}/test", status=202)
    found.equal(receiver.messages.at(2)["verified"], [True, True, False], "a message by the old, the new and a strange secret")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
