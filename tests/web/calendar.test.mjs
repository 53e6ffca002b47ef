// A calendar of the demo as a calendar program sees it: read by an independent parser and merged by UID.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import ICAL from 'ical.js';

const address = process.env.HAKEA_ADDRESS ?? readFileSync(process.env.HAKEA_ADDRESS_FILE, 'utf8');
const unit = 'sawpit-ridge';
const date = '2027-04-02';

function call(method, path, body) {
  return fetch(`${address}/api/v1${path}`, {
    method,
    headers: { 'Content-Type': 'application/json', Origin: address },
    body: body && JSON.stringify(body),
  });
}

async function made(path, body) {
  const answer = await call('POST', path, body);
  assert.equal(answer.status, 201, await answer.clone().text());
  return answer.json();
}

// Holds events as programs do: by UID, the one of the highest SEQUENCE.
class Program {
  events = new Map();

  constructor(link) {
    this.link = link;
  }

  async look() {
    const answer = await fetch(this.link);
    assert.equal(answer.status, 200);
    assert.match(answer.headers.get('content-type'), /^text\/calendar; *charset=utf-8$/);
    const calendar = new ICAL.Component(ICAL.parse(await answer.text()));
    assert.equal(calendar.name, 'vcalendar');
    for (const component of calendar.getAllSubcomponents()) {
      const event = new ICAL.Event(component);
      assert.ok(component.name === 'vevent' && event.uid);
      const known = this.events.get(event.uid);
      if (!known || event.sequence >= known.sequence) this.events.set(event.uid, event);
    }
    return calendar;
  }

  // Those of the unit's window on the date, however it stands: never more than one.
  ofTheDay(name) {
    const found = [...this.events.values()].filter(
      (event) => event.summary.endsWith(`: ${name} ${unit}`) && event.startDate.toJSDate() < new Date('2027-04-03T00:00:00+11:00') && event.startDate.toJSDate() >= new Date('2027-04-02T00:00:00+11:00'),
    );
    assert.equal(found.length, 1);
    return found[0];
  }
}

const status = (event) => event.component.getFirstPropertyValue('status');

test('a calendar parses, and a changed window updates in place', async () => {
  const calendar = await made('/calendars', { district: 'tallowmere' });
  const program = new Program(new URL(calendar.address, address));
  let stop;
  let booking;
  try {
    const read = await program.look();
    assert.equal(read.getFirstPropertyValue('method'), 'PUBLISH');
    assert.equal(String(read.getFirstPropertyValue('refresh-interval')), 'PT1H');

    const { days } = await (await call('GET', `/units/${unit}/days`)).json();
    const [window] = days.find((day) => day.date === date).windows;
    const { properties } = await (await call('GET', `/units/${unit}`)).json();
    const first = program.ofTheDay(properties.name);
    assert.equal(first.startDate.toJSDate().getTime(), Date.parse(window.start));
    assert.equal(first.endDate.toJSDate().getTime(), Date.parse(window.end));
    assert.equal(status(first), 'TENTATIVE');
    const inAll = program.events.size;

    const later = async (expected) => {
      const before = program.ofTheDay(properties.name);
      await program.look();
      const after = program.ofTheDay(properties.name);
      assert.equal(after.uid, first.uid);
      assert.ok(after.sequence > before.sequence, `${before.sequence}, then ${after.sequence}`);
      assert.equal(status(after), expected);
      assert.equal(program.events.size, inAll, 'no event twice');
    };
    stop = await made('/stops', { scope: { unit }, from: date, to: date, kind: 'event', why: 'school sports day' });
    await later('CANCELLED');
    assert.equal((await call('DELETE', `/stops/${stop.id}?reason=test`)).status, 200);
    stop = undefined;
    await later('TENTATIVE');
    booking = await made('/bookings', { unit, date, state: 'committed' });
    await later('CONFIRMED');
    assert.equal((await call('DELETE', `/bookings/${booking.id}?reason=test`)).status, 204);
    booking = undefined;
    await later('TENTATIVE');
  } finally {
    if (stop) await call('DELETE', `/stops/${stop.id}?reason=test`);
    if (booking) await call('DELETE', `/bookings/${booking.id}?reason=test`);
    assert.equal((await call('DELETE', `/calendars/${calendar.id}`)).status, 204);
  }
  assert.equal((await fetch(program.link)).status, 410);
});
