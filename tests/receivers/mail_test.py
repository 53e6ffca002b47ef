#!/usr/bin/env python3
"""Mails of the service, received by a real server (aiosmtpd) with STARTTLS and read by Python's own library: mail_test.py PROGRAM

Needs the packages python3, python3-aiosmtpd and openssl of Debian 12."""

import datetime
import email
import email.policy
import email.utils
import html.parser
import pathlib
import re
import socket
import ssl
import sys
import tempfile

from aiosmtpd.controller import Controller

import burns

HOST, ORIGIN = "burns.shire.example", "https://burns.shire.example"
CAUTION = "Forecast guidance only. The decision to light belongs to the authorised burn officer under the approved plan and local law."


class Mailbox:
    """Takes mail for everybody but nobody."""

    def __init__(self):
        self.mails = burns.Heap()

    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("nobody@"):
            return "550 no such mailbox"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        self.mails.put((session.ssl is not None, envelope.mail_from, envelope.rcpt_tos, envelope.original_content))
        return "250 OK"


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Words(html.parser.HTMLParser):
    """What a person reads of HTML, and whether it loads anything."""

    def __init__(self, text):
        super().__init__()
        self.text, self.loads, self.is_head = "", [], False
        self.feed(text)

    def handle_data(self, data):
        self.text += "" if self.is_head else data

    def handle_endtag(self, tag):
        self.is_head = self.is_head and tag != "head"

    def handle_starttag(self, tag, attributes):
        self.text += " "
        self.is_head = self.is_head or tag == "head"
        if tag in ("img", "script", "link", "iframe", "object") or "src" in dict(attributes):
            self.loads.append(tag)


def parsed(found, mail, what):
    """The message, if it parses without a defect and is what every mail of ours is; its text and the words of its HTML."""
    is_encrypted, sender, recipients, raw = mail
    found.true(is_encrypted, f"{what} comes encrypted")
    found.equal(sender, f"forecast@{HOST}", f"the sender of {what}")
    found.true(max(len(line) for line in raw.split(b"\r\n")) <= 998, f"the lines of {what}")
    found.true(b"\n" not in raw.replace(b"\r\n", b""), f"the line ends of {what}")
    message = email.message_from_bytes(raw, policy=email.policy.default)
    for part in message.walk():
        found.equal(part.defects, [], f"defects in {part.get_content_type()} of {what}")
        for name, value in part.items():
            found.equal(list(getattr(value, "defects", [])), [], f"defects of {name} in {what}")
    found.equal(message.get_content_type(), "multipart/alternative", f"the type of {what}")
    found.equal([part.get_content_type() for part in message.iter_parts()], ["text/plain", "text/html"], f"the parts of {what}")
    found.equal([part.get_content_charset() for part in message.iter_parts()], ["utf-8", "utf-8"], f"the letters of {what}")
    found.equal(message["To"].addresses[0].addr_spec, recipients[0], f"To of {what}")
    found.equal(message["From"].addresses[0].addr_spec, f"forecast@{HOST}", f"From of {what}")
    found.equal(message["Auto-Submitted"], "auto-generated", f"Auto-Submitted of {what}")
    found.equal(message["MIME-Version"], "1.0", f"MIME-Version of {what}")
    age = datetime.datetime.now(datetime.timezone.utc) - email.utils.parsedate_to_datetime(str(message["Date"]))
    found.true(abs(age) < datetime.timedelta(hours=1), f"the date of {what}")
    found.true(re.fullmatch(rf"<[^<>@\s]+@{re.escape(HOST)}>", message["Message-ID"]), f"Message-ID of {what}: {message['Message-ID']}")
    found.true(re.search(rf"^Burn windows \S+ <[a-z0-9.-]+\.windows\.{re.escape(HOST)}>$", message["List-Id"]), f"List-Id of {what}: {message['List-Id']}")
    found.equal(message["List-Unsubscribe-Post"], "List-Unsubscribe=One-Click", f"List-Unsubscribe-Post of {what}")
    found.true(re.fullmatch(rf"<{ORIGIN}/api/v1/unsubscribe/[\w-]+>", message["List-Unsubscribe"]), f"List-Unsubscribe of {what}")
    for name in ("Message-ID", "In-Reply-To", "References", "Subject", "Date", "From", "To", "List-Unsubscribe"):
        found.equal(len(message.get_all(name, [])), 1, f"how often {name} stands in {what}")
    text = message.get_body(("plain",)).get_content()
    words = Words(message.get_body(("html",)).get_content())
    found.equal(words.loads, [], f"what the HTML of {what} loads")
    for body in (text, words.text):
        found.true(CAUTION in body, f"the caution in {what}")
        found.true("Calculated FFDI is not the official fire danger rating." in body, f"the note on ratings in {what}")
    return message, text, words.text


def subscribe(service, address, events):
    return service.ask("POST", "/subscriptions", {"channel": {"kind": "email", "address": address}, "events": events}, 201)


def look_at_alerts(service, mails, found):
    made = subscribe(service, "officer@shire.example", ["booking.*"])
    test, _, _ = parsed(found, mails.at(0), "the test")
    found.equal(str(test["Subject"]), "Test message: this subscription is reached", "the subject of the test")
    service.delivery(made["id"], "delivered")

    # A reason that would end a header or the mail, were it not for quoting.
    why = "Straßenfest µ\r\n.\r\nBcc: everybody@shire.example\r\n\r\n<script>"
    undone = service.lose_a_booking(why)
    alert, text, words = parsed(found, mails.at(1), "the alert")
    found.true(str(alert["Subject"]).startswith("Booked window lost: Sawpit Ridge Friday 2 April "), f"the subject {alert['Subject']}")
    found.equal(alert["Bcc"], None, "a header out of a reason")
    for body in (text, words):
        found.true("Straßenfest µ" in body and "everybody@shire.example" in body and "<script>" in body, "the whole reason")
        found.true(f"Unit: {ORIGIN}/#/unit/{burns.UNIT}?day={burns.DATE}" in body, "where the page shows it")
        found.true("What would clear it: " in body and "Forecast run: fine.2027-03-29T12:00:00Z" in body, "what it rests on")
    thread = f"<{burns.UNIT}.{burns.DATE}@{HOST}>"
    found.equal((alert["In-Reply-To"], alert["References"]), (thread, thread), "the thread of the alert")

    service.undo(*undone)
    service.lose_a_booking("a stop")
    again, _, _ = parsed(found, mails.at(2), "the next alert of the day")
    found.equal((again["In-Reply-To"], again["References"]), (thread, thread), "the thread of the next alert of the day")
    found.true(again["Message-ID"] != alert["Message-ID"], "a Message-ID of its own")

    # One click, on POST alone: programs that look at links fetch them.
    path = alert["List-Unsubscribe"][len(f"<{ORIGIN}/api/v1"):-1]
    service.ask("GET", path, status=405, token=False)
    found.equal(service.ask("GET", f"/subscriptions/{made['id']}")["id"], made["id"], "the subscription after its link was fetched")
    service.ask("POST", path, status=204, token=False)
    service.ask("GET", f"/subscriptions/{made['id']}", status=404)


def look_at_digest(service, mails, found):
    reader = subscribe(service, "reader@shire.example", ["digest.*"])
    came = len(mails.all)
    parsed(found, mails.at(came), "the reader's test")
    service.delivery(reader["id"], "delivered")
    service.go_on_at("2027-03-31T06:31:00+11:00")
    digest, text, words = parsed(found, mails.at(came + 1), "the digest")
    found.true(str(digest["Subject"]).startswith("Digest: Tallowmere, Wednesday 31 March 2027, "), f"the subject {digest['Subject']}")
    thread = f"<digest.tallowmere@{HOST}>"
    found.equal((digest["In-Reply-To"], digest["References"]), (thread, thread), "the thread of the digest")
    lines = text.splitlines()
    headings = ["Stops today", "Open burns", "Planned today and tomorrow", "What changed", "Best candidates", "Near misses", "Days 5–10", "Season"]
    found.equal([line for line in lines if line in headings], headings, "the headings of the digest")
    found.true(any(line.startswith("  Log Landing Heaps, in mop-up") for line in lines), "the open burn in the digest")
    found.equal(words.split(), text.split(), "the words of the digest's HTML")


def look_at_refusals(service, found):
    nobody = subscribe(service, "nobody@shire.example", ["booking.*"])
    dead = service.delivery(nobody["id"], "dead")
    found.equal((dead["attempts"], dead["last_status"], dead["last_error"]), (1, 550, "the relay answered 550"), "mail to nobody")


def main(program):
    found = burns.Findings()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        key, certificate = burns.certificate(folder)
        tls = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        tls.load_cert_chain(certificate, key)
        mailbox = Mailbox()
        server = Controller(mailbox, hostname="127.0.0.1", port=free_port(), tls_context=tls, require_starttls=True)
        server.start()
        more = (f'[mail]\nhost = "localhost"\nport = {server.port}\nfrom = "forecast@{HOST}"\norigin = "{ORIGIN}"\nca_file = "localhost.pem"\n')
        try:
            with burns.Burns(program, folder, more) as service:
                look_at_alerts(service, mailbox.mails, found)
                look_at_refusals(service, found)
                look_at_digest(service, mailbox.mails, found)
        finally:
            server.stop()
    return found.told()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
