#!/usr/bin/env python3
"""The OpenAPI document held against the one released last, released.json: inside v1 things are only added.

Fails on what would break a caller who keeps to the released document: an operation, status, media type, parameter or member
that is gone, one that has become required in a request or is not promised any more in an answer, another type, a word that is
not taken or not said any more. Words of answers may grow; callers read one they do not know as "other". Before that it is tried on changes
that it has to find.

A release keeps its document: python3 tests/contract/document.py > tests/contract/released.json"""

import copy
import json
import pathlib
import sys

import document as doc

RELEASED = pathlib.Path(__file__).resolve().parent / "released.json"


def types_of(schema):
    types = schema.get("type", [])
    found = set([types] if isinstance(types, str) else types)
    if not found and "properties" in schema:
        found = {"object"}
    return found | ({"integer"} if "number" in found else set())


def flat(document, schema):
    """A schema with its references resolved and the parts of its `allOf` put together."""
    schema = dict(doc.meant(document, schema))
    for part in schema.pop("allOf", []):
        part = flat(document, part)
        schema["properties"] = {**part.get("properties", {}), **schema.get("properties", {})}
        schema["required"] = sorted(set(schema.get("required", [])) | set(part.get("required", [])))
        for name, value in part.items():
            schema.setdefault(name, value)
    return schema


class Comparison:
    def __init__(self, old, new):
        self.old, self.new, self.broken = old, new, []

    def say(self, place, what):
        self.broken.append(f"{place}: {what}")

    def schemas(self, place, old, new, is_answer):
        old, new = flat(self.old, old), flat(self.new, new)
        before, now = types_of(old), types_of(new)
        if before and now and not (now <= before if is_answer else before <= now):
            self.say(place, f"is {sorted(now)}, was {sorted(before)}")
        if "enum" in old and not is_answer and "enum" in new and not set(map(str, old["enum"])) <= set(map(str, new["enum"])):
            self.say(place, f"does not take {sorted(set(map(str, old['enum'])) - set(map(str, new['enum'])))} any more")
        if "enum" in old and is_answer and set(map(str, old["enum"])) - set(map(str, new.get("enum", old["enum"]))):
            self.say(place, f"does not say {sorted(set(map(str, old['enum'])) - set(map(str, new['enum'])))} any more")
        if "enum" in new and "enum" not in old and not is_answer:
            self.say(place, "takes only some words now")
        for name, value in old.get("properties", {}).items():
            if name not in new.get("properties", {}):
                self.say(f"{place}/{name}", "is gone")
            else:
                self.schemas(f"{place}/{name}", value, new["properties"][name], is_answer)
        before, now = set(old.get("required", [])), set(new.get("required", []))
        for name in sorted(before - now) if is_answer else sorted(now - before):
            self.say(f"{place}/{name}", "is not promised any more" if is_answer else "has become required")
        for inner in ("items", "additionalProperties"):
            if isinstance(old.get(inner), dict) and isinstance(new.get(inner), dict):
                self.schemas(f"{place}/*", old[inner], new[inner], is_answer)
        for choice in ("anyOf", "oneOf"):
            self.choices(f"{place}/{choice}", old.get(choice, []), new.get(choice, []), is_answer)

    def choices(self, place, old, new, is_answer):
        if (len(new) > len(old) if is_answer else len(new) < len(old)) and old:
            self.say(place, f"has {len(new)} alternatives, had {len(old)}")
        for index, (before, now) in enumerate(zip(old, new)):
            self.schemas(f"{place}/{index}", before, now, is_answer)

    def contents(self, place, old, new, is_answer):
        for media, before in old.items():
            if media not in new:
                self.say(f"{place} {media}", "is gone")
            else:
                self.schemas(f"{place} {media}", before["schema"], new[media]["schema"], is_answer)

    def parameters(self, place, old, new):
        def by_name(document, operation):
            found = (doc.meant(document, each) for each in operation.get("parameters", []))
            return {(each["in"], each["name"].lower()): each for each in found}
        before, now = by_name(self.old, old), by_name(self.new, new)
        for key, parameter in before.items():
            if key not in now:
                self.say(f"{place} {key[0]} {key[1]}", "is gone")
            else:
                self.schemas(f"{place} {key[0]} {key[1]}", parameter["schema"], now[key]["schema"], False)
        for key, parameter in now.items():
            if parameter.get("required") and not before.get(key, {}).get("required"):
                self.say(f"{place} {key[0]} {key[1]}", "has become required")

    def bodies(self, place, old, new):
        before, now = doc.meant(self.old, old.get("requestBody", {})), doc.meant(self.new, new.get("requestBody", {}))
        if before and not now:
            self.say(place, "takes no body any more")
        if now.get("required") and not before.get("required"):
            self.say(place, "needs a body now")
        self.contents(f"{place} request", before.get("content", {}), now.get("content", {}), False)

    def whole(self):
        now = {(method, path): operation for method, path, operation in doc.operations(self.new)}
        for method, path, old in doc.operations(self.old):
            place, new = f"{method} {path}", now.get((method, path))
            if new is None:
                self.say(place, "is gone")
                continue
            self.parameters(place, old, new)
            self.bodies(place, old, new)
            for status, response in old["responses"].items():
                if status not in new["responses"]:
                    self.say(f"{place} {status}", "is gone")
                    continue
                before, later = doc.meant(self.old, response), doc.meant(self.new, new["responses"][status])
                self.contents(f"{place} {status}", before.get("content", {}), later.get("content", {}), True)
                for name, header in before.get("headers", {}).items():
                    if doc.meant(self.old, header).get("required") and name not in later.get("headers", {}):
                        self.say(f"{place} {status} header {name}", "is gone")
        for name, old in self.old.get("webhooks", {}).items():
            new = self.new.get("webhooks", {}).get(name)
            if new is None:
                self.say(f"webhook {name}", "is gone")
            else:  # what we send is to a receiver what an answer is to a caller
                self.contents(f"webhook {name}", old["post"]["requestBody"]["content"], new["post"]["requestBody"]["content"], True)
        return self.broken


def changed(document, change):
    document = copy.deepcopy(document)
    change(document)
    return document


def blind_to(document):
    """Changes that break callers and are not found; additions that are taken for breaks."""
    breaks = {
        "a path that is gone": lambda d: d["paths"].pop("/plan"),
        "an operation that is gone": lambda d: d["paths"]["/stops/{id}"].pop("delete"),
        "a status that is gone": lambda d: d["paths"]["/units/{id}"]["get"]["responses"].pop("404"),
        "a form that is gone": lambda d: d["paths"]["/hours"]["get"]["responses"]["200"]["content"].pop("text/csv"),
        "a parameter that is gone": lambda d: d["paths"]["/days"]["get"].pop("parameters"),
        "a parameter that is required": lambda d: d["components"]["parameters"]["district"].update(required=True),
        "a member of an answer that is gone": lambda d: d["components"]["schemas"]["Day"]["properties"].pop("why"),
        "a member that is not promised": lambda d: d["components"]["schemas"]["Day"]["required"].remove("verdict"),
        "a member of another type": lambda d: d["components"]["schemas"]["Window"]["properties"]["hours"].update(type="string"),
        "a member that has become required": lambda d: d["components"]["schemas"]["Stop"]["required"].append("why"),
        "a word that is not taken": lambda d: d["components"]["schemas"]["Limit"]["properties"]["kind"]["enum"].remove("stop"),
        "a word that is not said": lambda d: d["components"]["schemas"]["Verdict"]["enum"].remove("unknown"),
        "an event that is gone": lambda d: d["webhooks"].pop("window.opened.v1"),
    }
    for name, change in breaks.items():
        if not Comparison(document, changed(document, change)).whole():
            yield f"does not find {name}"
    additions = {
        "a new member of an answer": lambda d: d["components"]["schemas"]["Day"]["properties"].update(more={"type": "string"}),
        "a new word of an answer": lambda d: d["components"]["schemas"]["Verdict"]["enum"].append("new"),
        "a new path": lambda d: d["paths"].update({"/new": d["paths"]["/days"]}),
        "a new parameter": lambda d: d["paths"]["/status"]["get"].update(parameters=[{"$ref": "#/components/parameters/district"}]),
    }
    for name, change in additions.items():
        for broken in Comparison(document, changed(document, change)).whole():
            yield f"takes {name} for a break: {broken}"


def main():
    released, now = json.loads(RELEASED.read_text(encoding="utf-8")), doc.from_sources()
    broken = list(blind_to(now)) + Comparison(released, now).whole()
    for line in broken:
        print(line)
    print(f"{len(broken)} breaks against version {released['info']['version']}")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
