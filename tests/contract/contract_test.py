#!/usr/bin/env python3
"""The service held against its OpenAPI document: contract_test.py PROGRAM

Calls every operation on the demo, and the one that only the demo has on a service that is none. Fails on an answer that the
document does not have (status, media type, header, shape), on a status of it that nothing provoked, on a reference that means
nothing, and on an example that does not keep its own schema. Needs the packages python3 and python3-jsonschema of Debian 12."""

import contextlib
import pathlib
import sqlite3
import subprocess
import sys
import tempfile

import calls
import document as doc
from contract import Contract, errors_of, examples, without_example
from service_process import Service


def faults_of(document):
    """What is wrong with the document in itself."""
    for reference, place in doc.references(document):
        try:
            doc.at(document, reference)
        except (KeyError, TypeError):
            yield f"{place}: {reference} means nothing"
    for place, schema, value in examples(document):
        for wrong in errors_of(doc.closed(document, schema), value):
            yield f"the example at {place}: {wrong}"
    for place in without_example(document):
        yield f"{place} has no example"


# Of the service that is no demo. Nobody listens where its mails go.
MORE = """
[service.rate_limit]
requests = 60
seconds = 3600

[mail]
host = "127.0.0.1"
tls = "none"
port = 1
from = "hakea@shire.example"
origin = "https://burns.shire.example"
"""


def new_token(program, folder, data, role):
    config = pathlib.Path(folder) / f"{role}.toml"
    config.write_text(f'[service]\ndata = "{data}"\nport = 0\nadmin_port = 0\n{MORE}', encoding="utf-8")
    made = subprocess.run([program, "token", "create", "--config", str(config), "--name", "contract test", "--role", role, "--days", "365"],
                          capture_output=True, text=True, check=False)
    if made.returncode != 0:
        raise RuntimeError(f"no token: {made.stderr}")
    return str(config), made.stdout.strip()


def link_of(data, subscription):
    """What a mail's link to unsubscribe ends with, which no answer tells."""
    with contextlib.closing(sqlite3.connect(data / "state.db")) as state:
        return state.execute("SELECT unsubscribe FROM channel WHERE subscription = ?", [subscription]).fetchone()[0]


def call_all(contract, program, folder):
    data = pathlib.Path(folder) / "demo"
    with Service(program, "demo", "--data", str(data), "--port", "0") as demo:
        _, operator = new_token(program, folder, data, "operator")
        served = contract.call(demo.port, "GET", "/openapi.json", 200)
        if served.json != contract.document:
            contract.fail("GET /openapi.json", "is not what its sources say")
        story = calls.Story(contract, demo.port, operator)
        story.succeed()
        story.refuse()
        for code in sorted(contract.problems_seen):
            contract.look_at_page(demo.port, f"/problems/{code}")
    plain = pathlib.Path(folder) / "plain"
    plain.mkdir()
    config, coordinator = new_token(program, folder, plain, "coordinator")
    with Service(program, "serve", "--config", config) as service:
        contract.call(service.port, "POST", "/demo/clock", 404, token=coordinator, body={"to": "2027-04-02T07:00:00+11:00"})
        contract.call(service.port, "GET", "/status", 200, token=coordinator)
        contract.call(service.port, "GET", "/units", 200, token=coordinator)
        mail = {"channel": {"kind": "email", "address": "officer@shire.example"}, "events": ["*"]}
        made = contract.call(service.port, "POST", "/subscriptions", 201, token=coordinator, body=mail).json
        contract.call(service.port, "POST", "/subscriptions/{id}/rotate-secret", 409, ids=[made["id"]], token=coordinator)
        contract.call(service.port, "POST", "/unsubscribe/{id}", 204, ids=[link_of(plain, made["id"])])
        contract.call(service.port, "GET", "/subscriptions/{id}", 404, ids=[made["id"]], token=coordinator)
        away = "127.0.3.2"
        while contract.ask(service.port, "GET", "/openapi.json", away).status == 200:
            pass
        contract.call(service.port, "GET", "/openapi.json", 429, address=away)
        contract.call(service.port, "POST", "/unsubscribe/{id}", 429, ids=["nobody"], address=away)
        contract.call(service.port, "GET", "/cal/{id}", 429, ids=["nobody"], address=away)


def main(program):
    document = doc.from_sources()
    contract = Contract(document)
    contract.failures += faults_of(document)
    with tempfile.TemporaryDirectory() as folder:
        call_all(contract, program, folder)
    contract.failures += contract.never_provoked()
    for failure in contract.failures:
        print(failure)
    statuses = sum(len(operation["responses"]) for operation in contract.operations.values())
    print(f"{len(contract.operations)} operations with {statuses} statuses, {contract.calls} calls, {len(contract.failures)} failures")
    return 1 if contract.failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
