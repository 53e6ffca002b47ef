"""Calls of the service, each answer held against its OpenAPI document, and a record of what was provoked."""

import dataclasses
import http.client
import json
import re
import socket
import urllib.parse

import jsonschema

from document import closed, meant, operations

# What `default` stands for: kinds of problems that may befall any request. Anything else needs a status of its own.
ANY_REQUEST = {
    (400, "bad_request"), (400, "bad_target"), (400, "no_host"), (408, "request_timeout"), (409, "still_running"),
    (413, "body_too_large"), (415, "media_type"), (431, "header_too_large"), (501, "transfer_coding"),
}
# Told of every answer in the document's own words, not with each.
ON_EVERY_ANSWER = {
    "date", "server", "connection", "keep-alive", "content-type", "content-length", "transfer-encoding", "cache-control", "vary",
    "x-request-id", "x-content-type-options", "ratelimit", "ratelimit-policy", "referrer-policy", "content-security-policy",
}


@dataclasses.dataclass
class Reply:
    status: int
    headers: dict
    body: bytes

    @property
    def type(self):
        return self.headers.get("content-type", "").split(";")[0].strip()

    @property
    def json(self):
        return json.loads(self.body)

    @property
    def code(self):
        """Of a problem, the last word of its type."""
        return self.json["type"].rsplit("/", 1)[1] if self.type == "application/problem+json" else ""


def send(port, method, target, headers, body, address):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300, source_address=(address, 0))
    try:
        connection.request(method, target, body, headers)
        answer = connection.getresponse()
        given = {name.lower(): value for name, value in answer.getheaders()}
        # A stream goes on; its first lines say what it is.
        is_stream = given.get("content-type", "").startswith("text/event-stream")
        return Reply(answer.status, given, answer.readline() if is_stream else answer.read())
    finally:
        connection.close()


def send_long_head(port, method, target, address):
    """A request whose head is larger than any service takes; its answer may come before all of it is sent."""
    with socket.create_connection(("127.0.0.1", port), timeout=60, source_address=(address, 0)) as line:
        head = f"{method} {target} HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: {'x' * 100_000}\r\n\r\n"
        try:
            line.sendall(head.encode())
        except OSError:
            pass
        answer = http.client.HTTPResponse(line, method=method)
        answer.begin()
        return Reply(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())


class Contract:
    def __init__(self, document):
        self.document = document
        self.operations = {(method, path): operation for method, path, operation in operations(document)}
        self.provoked = set()  # (method, path, status as the document has it, media type)
        self.problems_seen = set()
        self.failures = []
        self.checkers = {}  # by the schema's own text
        self.calls = 0

    def fail(self, where, what):
        self.failures.append(f"{where}: {what}")

    def call(self, port, method, path, expected, ids=(), query=None, body=None, headers=None, token=None, address="127.0.0.1",
             accept=None, long_head=False):
        """One request of an operation of the document. The reply, which is checked; a status that is not expected fails."""
        operation = self.operations[method, path]
        target = self.target(method, path)
        for value in ids:
            target = target.replace("{id}", urllib.parse.quote(value, safe=""), 1)
        if query:
            target += "?" + urllib.parse.urlencode(query)
        sent = {"Accept": accept} if accept else {}
        if token:
            sent["Authorization"] = "Bearer " + token
        if body is not None:
            sent["Content-Type"] = "application/json"
            if not isinstance(body, (bytes, str)):
                body = json.dumps(body)
        sent.update(headers or {})
        where = f"{method} {target} ({expected})"
        self.calls += 1
        try:
            reply = (send_long_head(port, method, target, address) if long_head
                     else send(port, method, target, sent, body, address))
        except (OSError, http.client.HTTPException) as failed:
            self.fail(where, f"no answer: {failed!r}")
            return Reply(0, {}, b"{}")
        if reply.status != expected:
            self.fail(where, f"answered {reply.status} {reply.body[:600].decode(errors='replace')}")
        elif expected < 300:
            self.check_request(where, operation, query or {}, body)
        self.check_reply(where, method, path, operation, reply)
        return reply

    def target(self, method, path):
        """Below the server of the operation, where it has one of its own."""
        operation = self.operations.get((method, path.partition("?")[0]), {})
        servers = operation.get("servers", self.document["servers"])
        return servers[0]["url"].rstrip("/") + path

    def paths_below(self, root):
        return {path for _, path in self.operations if path == root or path.startswith(root + "/")}

    def check_webhook(self, event):
        """A logged event as a webhook of its type would be sent it."""
        where = f"the event {event['type']}"
        hook = self.document["webhooks"].get(event["type"])
        if not hook:
            return self.fail(where, "is none of the document's webhooks")
        sent = {name: value for name, value in event.items() if name != "acknowledged"}
        return self.check_value(where, hook["post"]["requestBody"]["content"]["application/cloudevents+json"]["schema"], sent)

    def ask(self, port, method, path, address):
        """A request whose answer is looked at by whoever asks."""
        self.calls += 1
        return send(port, method, self.target(method, path), {}, None, address)

    def look_at_page(self, port, page):
        """What the type of a problem names is there."""
        reply = send(port, "GET", page, {"Accept": "text/html"}, None, "127.0.0.2")
        if reply.status != 200 or reply.type != "text/html":
            self.fail(page, f"answered {reply.status} {reply.type}")

    def takes(self, method, path, name):
        """Whether an operation has a parameter of that name."""
        return any(meant(self.document, each)["name"] == name for each in self.operations[method, path].get("parameters", []))

    def words_of(self, method, path):
        """Each (name, words) of a query parameter that takes some words only."""
        for parameter in self.operations[method, path].get("parameters", []):
            parameter = meant(self.document, parameter)
            schema = meant(self.document, parameter["schema"])
            schema = meant(self.document, schema.get("items", schema))
            if parameter["in"] == "query" and "enum" in schema:
                yield parameter["name"], schema["enum"]

    def check_request(self, where, operation, query, body):
        """What was taken is what the document says may be sent."""
        known = {meant(self.document, each)["name"] for each in operation.get("parameters", [])}
        for name in query:
            if name not in known:
                self.fail(where, f"takes the parameter {name}, which the document does not have")
        if body:
            if "requestBody" not in operation:
                return self.fail(where, "takes a body, which the document does not have")
            schema = next(iter(operation["requestBody"]["content"].values()))["schema"]
            self.check_value(where + " request", schema, json.loads(body))

    def check_reply(self, where, method, path, operation, reply):
        if reply.code:
            self.problems_seen.add(reply.code)
        documented = operation["responses"]
        status = str(reply.status)
        if status not in documented:
            if (reply.status, reply.code) not in ANY_REQUEST:
                return self.fail(where, f"the document has no {status} ({reply.code})")
            status = "default"
        response = meant(self.document, documented[status])
        content = response.get("content", {})
        self.provoked.add((method, path, status, reply.type))
        self.check_headers(where, response.get("headers", {}), reply)
        if not content:
            if reply.body:
                self.fail(where, f"has a body, of which the document says nothing: {reply.body[:200]}")
            return None
        if reply.type not in content:
            return self.fail(where, f"the document has no {reply.type} for {status}")
        if method == "HEAD":
            return None
        is_json = reply.type.endswith("json")
        try:
            value = reply.json if is_json else reply.body.decode("utf-8")
        except ValueError as wrong:
            return self.fail(where, f"is not what it says it is: {wrong}")
        return self.check_value(where, content[reply.type]["schema"], value)

    def check_headers(self, where, documented, reply):
        names = {name.lower() for name in documented}
        for name, header in documented.items():
            header = meant(self.document, header)
            value = reply.headers.get(name.lower())
            if value is None:
                if header.get("required"):
                    self.fail(where, f"has no header {name}")
            else:
                self.check_value(f"{where} header {name}", header["schema"], value)
        for name in reply.headers:
            if name not in names and name not in ON_EVERY_ANSWER:
                self.fail(where, f"has the header {name}, of which the document says nothing")

    def check_value(self, where, schema, value):
        text = json.dumps(schema)
        if text not in self.checkers:
            self.checkers[text] = closed(self.document, schema)
        for wrong in errors_of(self.checkers[text], value):
            self.fail(where, wrong)

    def never_provoked(self):
        """Statuses and, of reads, media types that no request provoked."""
        missing = []
        for (method, path), operation in self.operations.items():
            for status, response in operation["responses"].items():
                types = list(meant(self.document, response).get("content", {})) or [""]
                if method != "GET" or not status.startswith("2"):
                    if not any(seen[:3] == (method, path, status) for seen in self.provoked):
                        missing.append(f"{method} {path}: nothing provoked {status}")
                    continue
                missing += [f"{method} {path}: nothing provoked {status} as {each}"
                            for each in types if (method, path, status, each) not in self.provoked]
        return missing


def errors_of(schema, value, at_most=5):
    """What is wrong with a value, in lines that name the place; of alternatives, what is wrong with the nearest one."""
    found = []
    for error in jsonschema.Draft202012Validator(schema).iter_errors(value):
        while error.context:
            # The alternative that goes wrong deepest is the one that was meant.
            error = max(error.context, key=lambda each: len(each.absolute_path))
        place = "".join(f"/{part}" for part in error.absolute_path)
        found.append(f"at {place or 'the top'}: {error.message[:400]}")
        if len(found) == at_most:
            break
    return found


def examples(document):
    """Each (place, schema, value) of an example in the document."""
    def walk(value, place):
        if isinstance(value, dict):
            schema = value.get("schema")
            if isinstance(schema, dict):
                if "example" in value:
                    yield place, schema, value["example"]
                for name, example in value.get("examples", {}).items():
                    yield f"{place}/examples/{name}", schema, meant(document, example)["value"]
            elif "type" in value and isinstance(value.get("examples"), list):
                for example in value["examples"]:
                    yield place, value, example
            for name, member in value.items():
                if name not in ("example", "examples", "value"):
                    yield from walk(member, f"{place}/{name}")
        elif isinstance(value, list):
            for index, member in enumerate(value):
                yield from walk(member, f"{place}/{index}")
    yield from walk(document, "#")


def without_example(document):
    """Answers in JSON and bodies of requests that show no example."""
    for method, path, operation in operations(document):
        parts = [(status, meant(document, response)) for status, response in operation["responses"].items()]
        parts.append(("request", operation.get("requestBody", {})))
        for part, holder in parts:
            for media, content in meant(document, holder).get("content", {}).items():
                if not re.search("examples?", " ".join(content)):
                    yield f"{method} {path} {part} {media}"
