import assert from 'node:assert/strict';
import { test } from 'node:test';
import { address, faults, get, open, send, statusRoute, views, withPage } from './look.mjs';

for (const view of Object.keys(views)) {
  test(`${view}: no fault of accessibility, light and dark`, async () => {
    await withPage(async (page) => {
      await open(page, view);
      for (const colorScheme of ['light', 'dark']) {
        await page.emulateMedia({ colorScheme });
        assert.deepEqual(await faults(page), [], colorScheme);
      }
    });
  });

  test(`${view}: at phone width and at 200 % zoom nothing hangs over the side`, async () => {
    await withPage(
      async (page) => {
        await open(page, view);
        for (const [width, height] of [
          [320, 640],
          [390, 844],
          [700, 450],
        ]) {
          await page.setViewportSize({ width, height });
          await page.waitForFunction((w) => document.documentElement.clientWidth <= w, width);
          assert.deepEqual(await faults(page), [], `${width} wide`);
          assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width, `${width} wide`);
        }
      },
      { width: 320, height: 640 },
    );
  });
}

test('verdicts are told by sign and word where colours are forced', async () => {
  await withPage(
    async (page) => {
      await open(page, 'district');
      const cells = page.locator('table.days tbody td button');
      for (const [i, text] of (await cells.allInnerTexts()).entries()) {
        assert.match(text, /Met|Near miss|Unknown|Out|Blocked/);
        assert.equal(await cells.nth(i).locator('svg.sign').count(), 1);
      }
      await open(page, 'unit');
      const signs = new Set(await page.locator('table.strip td[data-column]').allInnerTexts());
      assert.deepEqual([...signs].sort(), ['×', '■']);
    },
    { forcedColors: 'active' },
  );
});

test('nothing is asked for twice', async () => {
  for (const view of ['district', 'unit', 'map', 'plan'])
    await withPage(async (page) => {
      const asked = [];
      page.on('request', (request) => asked.push(`${request.method()} ${request.url()}`));
      await open(page, view);
      assert.ok(asked.some((a) => a.includes('/api/v1/')), view);
      assert.deepEqual(asked.filter((a, i) => asked.indexOf(a) !== i), [], view);
    });
});

test('units stand in the order in which the service ranks them on the chosen day', async () => {
  await withPage(async (page) => {
    const { days } = await get('/days?from=2027-04-02&to=2027-04-02');
    const { features } = await get('/units');
    const name = new Map(features.map((u) => [u.id, u.properties.name]));
    await open(page, { hash: '#/district?day=2027-04-02', ready: 'table.days tbody tr' });
    await page.waitForFunction((count) => document.querySelectorAll('table.days tbody tr').length === count, features.length);
    const shown = await page.locator('table.days tbody th a').allInnerTexts();
    assert.deepEqual(shown, days[0].units.map((u) => name.get(u.unit)));
  });
});

test('blocked and unknown never look like out', async () => {
  await withPage(async (page) => {
    await open(page, 'district');
    const look = (verdict) =>
      page.evaluate((v) => {
        const cell = document.querySelector(`table.days td.is-${v}`);
        const style = getComputedStyle(cell);
        return [style.backgroundImage, style.backgroundColor, cell.querySelector('svg').innerHTML];
      }, verdict);
    const looks = await Promise.all(['met', 'near_miss', 'unknown', 'out', 'blocked'].map(look));
    assert.equal(new Set(looks.map((l) => l[2])).size, 5, 'five signs');
    assert.equal(new Set(looks.map((l) => l[0] + l[1])).size, 5, 'five grounds');
    assert.equal(looks[3][0], 'none', 'out has no pattern');
  });
});

test('by keyboard alone from the district to a booking', async () => {
  const before = new Set((await get('/bookings')).bookings.map((b) => b.id));
  await withPage(async (page) => {
    await open(page, { hash: '#/district?day=2027-04-02', ready: 'table.days tbody tr' });
    const focused = () => page.evaluate(() => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '');
    const tabTo = async (what) => {
      for (let i = 0; i < 40; ++i) {
        await page.keyboard.press('Tab');
        if (what.test(await focused())) return;
      }
      assert.fail(`Tab never comes to ${what}; it stands at "${await focused()}"`);
    };
    await tabTo(/^Fri 2 Apr/);
    for (let i = 0; i < 20 && !/Blue Gum Spur, Fri 2 Apr/.test(await focused()); ++i) await page.keyboard.press('ArrowDown');
    assert.match(await focused(), /^Met \d\d:00–\d\d:00, Blue Gum Spur, Fri 2 Apr\. /);
    await page.keyboard.press('Enter');
    await page.waitForSelector('.opened article');
    await tabTo(/^Book this day/);
    await page.keyboard.press('Enter');
    await page.waitForSelector('form.booking');
    await tabTo(/^Book$/);
    await page.keyboard.press('Enter');
    await page.waitForSelector('text=is booked for Fri 2 Apr');
  });
  const made = (await get('/bookings')).bookings.filter((b) => !before.has(b.id));
  assert.deepEqual(made.map((b) => [b.unit, b.date, b.state, b.by]), [['blue-gum-spur', '2027-04-02', 'committed', 'coordinator']]);
  assert.equal((await send('DELETE', `/bookings/${made[0].id}?reason=test`)).status, 204);
});

test('a calendar link is made, shown once and taken back', async () => {
  await withPage(async (page) => {
    await open(page, 'alerts');
    await page.getByText('Links for calendar programs').click();
    await page.getByRole('button', { name: 'Make a link' }).click();
    const shown = page.getByLabel(/This link is shown once/);
    await shown.waitFor();
    const link = await shown.inputValue();
    assert.match(link, /^http:\/\/127\.0\.0\.1:\d+\/cal\/[\w-]{43}\.ics$/);
    assert.equal((await fetch(link)).status, 200);
    assert.deepEqual(await faults(page), []);
    await page.getByRole('button', { name: 'Take back Burn windows: Tallowmere' }).click();
    await shown.waitFor({ state: 'detached' });
    assert.equal((await fetch(link)).status, 410);
  });
});

test('who is told is seen on the page, asked for, paused and ended', async () => {
  await withPage(async (page) => {
    await open(page, 'alerts');
    await page.getByText('Who is told, and what was sent').click();
    await page.getByLabel('Mail or https address').fill('https://hooks.shire.example/burn');
    await page.getByRole('button', { name: 'Ask to be told' }).click();
    assert.match(await page.getByLabel(/This secret signs what is sent there/).inputValue(), /^whsec_/);
    const card = page.locator('details li.card', { hasText: 'hooks.shire.example' });
    await card.getByText('Waits until its address has taken a test').waitFor();
    assert.deepEqual(await faults(page), []);
    await card.getByRole('button', { name: /^Pause/ }).click();
    await card.getByText('Paused: nothing is sent').waitFor();
    await card.getByRole('button', { name: /^Go on/ }).click();
    await card.getByText('Waits until its address has taken a test').waitFor();
    await card.getByRole('button', { name: /^End it/ }).click();
    await card.waitFor({ state: 'detached' });
  });
});

test('the strip has a row for each limit, the limiting one first, and says an hour by its value', async () => {
  await withPage(async (page) => {
    await open(page, 'unit');
    const { limits } = await get('/units/sawpit-ridge/prescription');
    assert.equal(await page.locator('table.strip tbody tr').count(), limits.length + 1);
    const [, first] = await page.locator('table.strip tbody th').allInnerTexts();
    const { days } = await get('/units/sawpit-ridge/days');
    const limiting = days.find((d) => d.date === '2027-04-02').limiting.quantity;
    const { quantities } = await get('/quantities');
    assert.ok(first.startsWith(`Limiting: ${quantities.find((q) => q.key === limiting).title}`), first);
    await page.locator('table.strip tr.limiting td[data-column]').first().focus();
    await page.keyboard.press('End');
    assert.match(await page.locator('.strip-block .reading').innerText(), /Fri 2 Apr 23:00–Sat 00:00 AEDT: .* m²\/s, out; needs at least/);
  });
});

test('members of an ensemble stand behind the lines as a band', async () => {
  await withPage(
    async (page) => {
      await open(page, 'unit');
      assert.match(await page.locator('.plots').locator('..').locator('.key').innerText(), /eight in ten of 12 members/);
      // The edges of the band are the only thing drawn in its colour, and are there for one quantity alone.
      const drawn = await page.evaluate(() => {
        const hex = getComputedStyle(document.body).getPropertyValue('--members').trim();
        const wanted = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
        return [...document.querySelectorAll('.plots canvas')].map((canvas) => {
          const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
          let count = 0;
          for (let i = 0; i < data.length; i += 4) if (wanted.every((c, k) => Math.abs(data[i + k] - c) < 3) && data[i + 3] > 250) ++count;
          return count > 30;
        });
      });
      assert.equal(drawn.filter(Boolean).length, 1, String(drawn));
    },
    {
      before: (page) =>
        page.route('**/api/v1/units/*/hours?limits=yes*', async (route) => {
          const answer = await route.fetch();
          const hours = await answer.json();
          assert.equal(hours.members, null, 'the demo has no ensemble');
          const { unit, values } = hours.quantities.relative_humidity;
          const moved = (by) => values.map((v) => v === null ? null : v + by);
          hours.members = { of: 12, quantities: { relative_humidity: { unit, p10: moved(-8), p50: values, p90: moved(8) } } };
          await route.fulfill({ json: hours });
        }),
    },
  );
});

test('a trial ranks the days anew at once and stores nothing', async () => {
  const stored = await get('/units/sawpit-ridge/prescription');
  await withPage(async (page) => {
    await open(page, 'unit');
    await page.getByLabel('Rain days since 2 mm, at the start: at least').fill('1');
    const table = page.locator('table.reranked');
    await table.waitFor();
    assert.ok((await table.locator('tr.changed').count()) > 0, 'a day changes its verdict');
    assert.match(await page.locator('.trial [role=status]').innerText(), /from out to/);
    assert.match(await page.locator('.day-choice').innerText(), /rank 1/);
    await page.getByLabel('Litter moisture, each hour: at least').fill('40');
    await page.waitForSelector('.trial .trouble');
    assert.match(await page.locator('.trial .trouble').innerText(), /limits\/0/);
    assert.equal(await page.locator('.trial table.reranked, form.store').count(), 0, 'days of other limits stand beside those refused');
  }, { expects: ['422'] });
  const after = await get('/units/sawpit-ridge/prescription');
  assert.deepEqual(after.limits, stored.limits);
  assert.equal(after.revision, stored.revision);
});

test('the day on which the clock goes back has 25 hours, each under its zone', async () => {
  await withPage(async (page) => {
    await open(page, { hash: '#/unit/sawpit-ridge?day=2027-04-04', ready: 'table.strip tbody tr' });
    const day = page.locator('table.strip .dates th').nth(1);
    assert.match(await day.innerText(), /Sun 4 Apr AEDT then AEST \(the clock changes; 25 hours\)/);
    assert.equal(await day.getAttribute('colspan'), '25');
    const clocks = (await page.locator('table.strip .clocks th[abbr]').evaluateAll((all) => all.map((th) => th.abbr))).slice(0, 25);
    assert.deepEqual(clocks.slice(1, 5), ['Sun 01:00 AEDT', 'Sun 02:00 AEDT', 'Sun 02:00 AEST', 'Sun 03:00 AEST']);
    assert.equal(new Set(clocks).size, 25);
  });
});

test('a plan asked again with a wish holds it, and books', async () => {
  await withPage(async (page) => {
    await open(page, 'plan');
    const wanted = page.locator('tr', { hasText: 'Blue Gum Spur' }).first();
    await wanted.getByRole('button', { name: /Must be in/ }).click();
    await page.waitForSelector('.proposed a:has-text("Blue Gum Spur")');
    await page.waitForSelector('legend:has-text("Must be in")');
    await page.getByRole('button', { name: 'Book Blue Gum Spur, Fri 2 Apr' }).click();
    await page.waitForSelector('form.booking');
  });
});

test('a plan that was asked for stands until it is asked for again, and says that a newer run is there', async () => {
  let isNewer = false;
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'plan');
      assert.equal(await page.getByText('is there now').count(), 0);
      await page.locator('tr', { hasText: 'Blue Gum Spur' }).first().getByRole('button', { name: /Must be in/ }).click();
      await page.waitForSelector('.proposed a:has-text("Blue Gum Spur")');
      const before = await page.locator('.proposed').innerText();
      isNewer = true;
      await page.clock.runFor(30_000);
      await page.getByText(/Made from the run of .* is there now/).waitFor();
      assert.equal(await page.locator('.proposed').innerText(), before);
    },
    {
      before: async (page) => {
        await statusRoute(page, (s) => (s.picture.number += isNewer ? 1 : 0));
        await page.route('**/api/v1/days?*', async (route) => {
          const answer = await route.fetch({ headers: { accept: 'application/json' } });
          const days = await answer.json();
          if (isNewer) Object.assign(days.run, { id: 'fine.2027-03-30T00:00:00Z', reference_time: '2027-03-30T00:00:00Z' });
          await route.fulfill({ json: days });
        });
      },
    },
  );
});

// The same units under other names, so many times over.
function manyUnits(page, times) {
  const again = (list, idOf, rename) => Array.from({ length: times }, (_, k) => list.map((x) => rename(structuredClone(x), `${idOf(x)}-${k + 1}`))).flat();
  return Promise.all([
    page.route('**/api/v1/units?*', async (route) => {
      const units = await (await route.fetch()).json();
      units.features = again(units.features, (u) => u.id, (u, id) => Object.assign(u, { id }));
      await route.fulfill({ json: units });
    }),
    page.route('**/api/v1/days?district=*', async (route) => {
      const days = await (await route.fetch()).json();
      for (const day of days.days) day.units = again(day.units, (u) => u.unit, (u, unit) => Object.assign(u, { unit }));
      await route.fulfill({ json: days });
    }),
  ]);
}

test('hundreds of units are all there, by eye and by keyboard, and the dates stay above them', async () => {
  await withPage(
    async (page) => {
      await open(page, 'district');
      await page.waitForFunction(() => document.querySelectorAll('table.days tbody tr').length === 20 * 16);
      await page.locator('table.days tbody tr').nth(300).locator('button').nth(3).focus();
      const focused = () => page.evaluate(() => document.activeElement.dataset.cell);
      const below = await page.locator('table.days tbody tr').nth(301).locator('button').nth(3).getAttribute('data-cell');
      await page.keyboard.press('ArrowDown');
      assert.equal(await focused(), below);
      await page.keyboard.press('Enter');
      await page.waitForSelector('.opened article');
      const [head, cell, bar] = await page.evaluate(() =>
        ['table.days thead', 'table.days button[aria-expanded=true]', '.standing'].map((s) => document.querySelector(s).getBoundingClientRect().toJSON()),
      );
      assert.equal(Math.round(head.top), Math.round(bar.bottom));
      assert.ok(cell.top >= head.bottom - 1, 'what the keyboard stands on is not behind the dates');
    },
    { before: (page) => manyUnits(page, 20) },
  );
});

// By day the sector alone counts, which the page draws as wide as the service does; by night smoke also goes other ways.
test('by day the places under a smoke that the map names are as many as the service counts', async () => {
  await withPage(async (page) => {
    await open(page, 'map');
    let named = 0;
    for (const hour of [9, 11, 13, 15, 17]) {
      await page.locator('.hour-slider input').fill(String(hour));
      for (const text of await page.locator('.map-list li').allInnerTexts()) {
        const found = text.match(/(\d+) places? under it(?:: (.*))?/);
        if (!found) continue;
        assert.ok(found[2], `at hour ${hour} names are wanting: ${text}`);
        ++named;
      }
    }
    assert.ok(named > 0, 'no smoke lies over a place');
  });
});

test('who may not decide sees everything and can do nothing', async () => {
  const viewer = { actor: 'reader', role: 'viewer', scopes: ['read'], districts: [], units: [], session: null };
  const sent = [];
  await withPage(
    async (page) => {
      await open(page, 'an opened day of a unit');
      await page.getByRole('button', { name: 'Book this day' }).click();
      await page.waitForSelector('text=You are signed in as viewer');
      assert.equal(await page.locator('form.booking').count(), 0);
      await open(page, 'unit');
      await page.getByLabel('Rain days since 2 mm, at the start: at least').fill('1');
      await page.waitForSelector('table.reranked');
      assert.equal(await page.locator('form.store').count(), 0);
      assert.match(await page.locator('.trial-answer').innerText(), /Storing a prescription takes a coordinator/);
    },
    {
      before: async (page) => {
        await page.route('**/api/v1/session', (route) => route.fulfill({ json: viewer }));
        page.on('request', (r) => r.method() !== 'GET' && !r.url().endsWith('/trial') && sent.push(r.url()));
      },
    },
  );
  assert.deepEqual(sent, []);
});

test('who is not signed in is asked for a token, which is sent once', async () => {
  let isIn = false;
  const sent = [];
  await withPage(
    async (page) => {
      await page.goto(address);
      await page.getByLabel('Token').fill('hakea_abcdefgh_secret');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.waitForSelector('table.days tbody tr');
      assert.deepEqual(sent, ['{"token":"hakea_abcdefgh_secret"}']);
      assert.equal(await page.evaluate(() => JSON.stringify([localStorage, sessionStorage, location.href]).includes('secret')), false);
    },
    {
      before: async (page) => {
        await page.route('**/api/v1/**', (route) => {
          const request = route.request();
          if (request.url().endsWith('/session') && request.method() === 'POST') {
            sent.push(request.postData());
            isIn = true;
            return route.fulfill({ status: 201, json: { actor: 'c', role: 'coordinator', scopes: ['read'], session: null } });
          }
          if (!isIn && !request.url().endsWith('/status')) return route.fulfill({ status: 401, json: { title: 'Say who you are', status: 401 } });
          if (request.url().endsWith('/session')) return route.fulfill({ json: { actor: 'c', role: 'coordinator', scopes: ['read'], session: null } });
          return route.continue();
        });
      },
    },
  );
});

test('before there is a district, and before there is a day, the page says so', async () => {
  await withPage(
    async (page) => {
      await page.goto(address);
      await page.getByText('No district is entered here').waitFor();
    },
    { before: (page) => page.route('**/api/v1/districts', (route) => route.fulfill({ json: { districts: [] } })) },
  );
  for (const view of ['district', 'map'])
    await withPage(
      async (page) => {
        await page.goto(`${address}/#/${view}`);
        await page.getByText('There are no days to show yet').waitFor();
        assert.doesNotMatch(await page.locator('main').innerText(), /undefined|NaN|Reading/);
      },
      { before: (page) => page.route('**/api/v1/days?*', (route) => route.fulfill({ json: { days: [], run: null, freshness: 'stale', caution: '' } })) },
    );
});

test('the map asks for no more units than the service gives hours of, and says when it gave none', async () => {
  const asked = [];
  await withPage(
    async (page) => {
      await open(page, { hash: '#/map?day=2027-04-02', ready: '.map-list li' });
      await page.locator('.map-list .trouble, section[aria-labelledby=map-list] .trouble').first().waitFor({ timeout: 10_000 });
      assert.doesNotMatch(await page.locator('.map-list').innerText(), /unknown or variable/);
      assert.ok(asked.length > 0 && asked.every((count) => count <= 200), String(asked));
    },
    {
      expects: ['503'],
      before: async (page) => {
        await manyUnits(page, 20);
        await page.route('**/api/v1/hours?*', (route) => {
          asked.push(new URL(route.request().url()).searchParams.get('units').split(',').length);
          return route.fulfill({ status: 503, json: { title: 'The store does not answer', status: 503 } });
        });
      },
    },
  );
});

test('Tab comes to the hours also where the tail limits', async () => {
  await withPage(async (page) => {
    await open(page, { hash: '#/unit/emu-track?day=2027-04-02', ready: 'table.strip tr.limiting td[data-column]' });
    assert.equal(await page.locator('table.strip td[tabindex="0"]').count(), 1);
  });
});

test('the page is sent under a strict policy, its files for ever, itself never unasked', async () => {
  const page = await fetch(`${address}/`);
  const policy = page.headers.get('content-security-policy');
  for (const part of ["default-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "object-src 'none'"]) assert.ok(policy.includes(part), policy);
  assert.doesNotMatch(policy, /unsafe/);
  assert.equal(page.headers.get('x-content-type-options'), 'nosniff');
  assert.equal(page.headers.get('referrer-policy'), 'same-origin');
  assert.equal(page.headers.get('cache-control'), 'no-cache');
  const names = [...(await page.text()).matchAll(/\/assets\/[\w.-]+/g)].map((m) => m[0]);
  assert.ok(names.some((name) => name.endsWith('.css')) && names.some((name) => name.endsWith('.js')), names.join(' '));
  for (const name of names) {
    const file = await fetch(address + name);
    assert.equal(file.headers.get('cache-control'), 'public, max-age=31536000, immutable');
    assert.match(name, /-[A-Z0-9]{8}\.(js|css)$/);
  }
  const unknown = await fetch(`${address}/assets/page-00000000.js`);
  assert.equal(unknown.status, 404);
  assert.equal(unknown.headers.get('content-type'), 'application/problem+json');
});
