// What changes, fails or comes late while the page is open.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { address, get, open, send, statusRoute, withPage } from './look.mjs';

test('a stale forecast is said in a banner on every view', async () => {
  for (const view of ['district', 'unit', 'plan', 'feeds'])
    await withPage(
      async (page) => {
        await open(page, view);
        assert.match(await page.locator('.banner').innerText(), /The forecast is stale\. coarse has no recent run: treat every window .* as unconfirmed/);
        assert.match(await page.locator('.standing').innerText(), /coarse[^]*stale/);
      },
      { before: (page) => statusRoute(page, (s) => (s.feeds.find((f) => f.id === 'coarse').freshness = 'stale')) },
    );
});

test('a new picture is shown without being asked for, and not while updates are paused', async () => {
  let number = 0;
  let days = 0;
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'district');
      const read = days;
      number = 1;
      await page.clock.runFor(16_000);
      await page.waitForFunction(() => document.querySelector('[aria-live=polite]').textContent.includes('has changed'), undefined, { polling: 100 });
      assert.ok(days > read, 'the days are asked for again');
      await page.getByRole('button', { name: 'Pause' }).click();
      const paused = days;
      number = 2;
      await page.clock.runFor(60_000);
      assert.equal(days, paused);
      assert.match(await page.locator('.standing').innerText(), /Updates paused/);
    },
    {
      before: async (page) => {
        page.on('request', (r) => r.url().includes('/api/v1/days') && ++days);
        await statusRoute(page, (s) => (s.picture.number += number));
      },
    },
  );
});

test('what could not be read anew is said, and asked for again', async () => {
  let number = 0;
  let fails = false;
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'district');
      fails = true;
      number = 1;
      await page.clock.runFor(30_000);
      const said = page.locator('.banner', { hasText: 'could not be read anew' });
      await said.waitFor();
      assert.doesNotMatch(await page.locator('.standing').innerText(), /Up to date/);
      fails = false;
      await page.clock.runFor(30_000);
      await said.waitFor({ state: 'detached' });
    },
    {
      expects: ['503'],
      before: async (page) => {
        await statusRoute(page, (s) => (s.picture.number += number));
        await page.route('**/api/v1/days?*', (route) => (fails ? route.fulfill({ status: 503, json: { title: 'The store does not answer', status: 503 } }) : route.continue()));
      },
    },
  );
});

test('a session that ended while the service was out of reach leads to signing in', async () => {
  let state = 'good';
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'district');
      state = 'gone';
      await page.clock.runFor(16_000);
      await page.locator('.banner', { hasText: 'cannot be reached' }).waitFor();
      state = 'ended';
      await page.clock.runFor(16_000);
      await page.getByLabel('Token').waitFor();
    },
    {
      expects: ['ERR_FAILED', '401'],
      before: (page) =>
        page.route('**/api/v1/**', (route) =>
          state === 'gone' ? route.abort() : state === 'ended' ? route.fulfill({ status: 401, json: { title: 'Say who you are', status: 401 } }) : route.continue(),
        ),
    },
  );
});

test('a trial is not stored over what somebody else wrote meanwhile', async () => {
  const path = '/units/sawpit-ridge/prescription';
  const stored = await get(path);
  let number = 0;
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'unit');
      await page.getByLabel('Rain days since 2 mm, at the start: at least').fill('1');
      await page.locator('table.reranked').waitFor();
      const theirs = { ...stored, duration_h: stored.duration_h + 1 };
      assert.equal((await send('PUT', `${path}?reason=test`, theirs)).status, 200);
      const readAnew = page.waitForResponse((r) => r.url().endsWith(path) && r.status() === 200);
      number = 1;
      await page.clock.runFor(30_000);
      await readAnew;
      await page.getByLabel('Reason').fill('a test');
      await page.getByRole('button', { name: 'Store the prescription' }).click();
      await page.locator('form.store .trouble', { hasText: 'It was changed meanwhile' }).waitFor();
      assert.equal((await get(path)).duration_h, theirs.duration_h);
    },
    { expects: ['412'], before: (page) => statusRoute(page, (s) => (s.picture.number += number)) },
  );
  assert.equal((await send('PUT', `${path}?reason=test`, stored)).status, 200);
});

test('what was on its way when the forecast changed is asked for again', async () => {
  let number = 0;
  const asked = { days: 0, plan: 0 };
  let release;
  const held = new Promise((resolve) => (release = resolve));
  await withPage(
    async (page) => {
      const until = async (what, count) => {
        for (let i = 0; i < 200 && asked[what] < count; ++i) await page.waitForTimeout(100);
        assert.equal(asked[what], count, what);
      };
      await page.clock.install();
      await page.goto(`${address}/#/plan`);
      await until('plan', 1);
      await until('days', 1);
      number = 1;
      await page.clock.runFor(30_000);
      await until('days', 2);
      release();
      await until('plan', 2);
    },
    {
      before: async (page) => {
        await statusRoute(page, (s) => (s.picture.number += number));
        await page.route('**/api/v1/days?*', (route) => ++asked.days && route.continue());
        await page.route('**/api/v1/plan?*', async (route) => {
          if (++asked.plan === 1) await held;
          await route.continue();
        });
      },
    },
  );
});

test('stops on top are those of the district that are not over', async () => {
  const stop = (id, from, to, why) => ({ id, scope: { district: 'tallowmere' }, from, to, kind: 'declared_ban', why });
  const asked = [];
  await withPage(
    async (page) => {
      await open(page, 'district');
      const shown = page.locator('section', { has: page.locator('#stops-heading') });
      await shown.getByText('ban that stands').waitFor();
      assert.doesNotMatch(await shown.innerText(), /ban of last/);
      assert.ok(asked.length > 0 && asked.every((search) => search === '?district=tallowmere'), String(asked));
    },
    {
      before: (page) =>
        page.route('**/api/v1/stops*', (route) => {
          asked.push(new URL(route.request().url()).search);
          return route.fulfill({
            json: {
              stops: [
                stop('1', '2026-04-02', '2026-04-02', 'ban of last year'),
                stop('2', '2027-03-28T00:00:00+11:00', '2027-03-29T00:00:00+11:00', 'ban of last Sunday'),
                stop('3', '2027-03-29', '2027-05-30', 'ban that stands'),
              ],
            },
          });
        }),
    },
  );
});

test('a day that was stood down can be booked anew', async () => {
  const booking = { unit: 'sawpit-ridge', date: '2027-04-02' };
  const { id } = await (await send('POST', '/bookings', { ...booking, state: 'committed' })).json();
  assert.equal((await send('PUT', `/bookings/${id}`, { ...booking, state: 'stood_down' })).status, 200);
  for (const view of ['unit', 'an opened day of a unit'])
    await withPage(async (page) => {
      await open(page, view);
      await page.getByRole('button', { name: 'Book this day' }).waitFor({ timeout: 10_000 });
      assert.equal(await page.getByText('Booked: stood down').count(), 0);
    });
  assert.equal((await send('DELETE', `/bookings/${id}?reason=test`)).status, 204);
});

test('what a plan is made with is as the district is, also when that changes, until somebody asks otherwise', async () => {
  let number = 0;
  let release;
  const held = new Promise((resolve) => (release = resolve));
  let posts = 0;
  await withPage(
    async (page) => {
      await page.clock.install();
      await open(page, 'plan');
      number = 1;
      await page.clock.runFor(30_000);
      await page.waitForFunction(() => document.querySelector('form[aria-label="What the plan is made with"] fieldset:nth-of-type(2) input').value === '9', undefined, { polling: 100, timeout: 10_000 });
      const leaveOut = page.locator('.proposed').getByRole('button', { name: /^Leave out/ }).first();
      await leaveOut.click();
      await page.getByRole('button', { name: 'As the district is' }).waitFor();
      const proposed = await page.locator('.proposed').innerText();
      await leaveOut.click(); // the answer to this one is late
      await page.waitForFunction(() => document.querySelector('[aria-busy=true]'), undefined, { polling: 50 });
      await page.getByRole('button', { name: 'As the district is' }).click();
      await page.waitForFunction((text) => document.querySelector('.proposed').innerText !== text, proposed, { polling: 50 });
      const asItIs = await page.locator('.proposed').innerText();
      const late = page.waitForResponse((r) => r.request().method() === 'POST' && r.url().includes('/plan?'));
      release();
      await late;
      await page.waitForTimeout(500);
      assert.equal(await page.locator('.proposed').innerText(), asItIs);
    },
    {
      before: async (page) => {
        await statusRoute(page, (s) => (s.picture.number += number));
        await page.route('**/api/v1/districts', async (route) => {
          const answer = await route.fetch({ headers: { accept: 'application/json' } });
          const all = await answer.json();
          if (number) all.districts[0].depots[0].crews = 9;
          await route.fulfill({ json: all });
        });
        await page.route('**/api/v1/plan?*', async (route) => {
          if (route.request().method() === 'POST' && ++posts === 2) await held;
          await route.continue();
        });
      },
    },
  );
});
