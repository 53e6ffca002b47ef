// Looking at the page as a browser does. Everything that must hold of every look is watched here: no request to another place,
// nothing that the content policy had to stop, no error in the page.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

export const address = process.env.HAKEA_ADDRESS ?? readFileSync(process.env.HAKEA_ADDRESS_FILE, 'utf8');
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

// Pages of the demo; what must be there before it can be looked at.
export const views = {
  district: { hash: '#/district', ready: 'table.days tbody tr' },
  'an opened day of a unit': { hash: '#/district?day=2027-04-02&open=sawpit-ridge/2027-04-02', ready: '.opened article' },
  'an opened day': { hash: '#/district?day=2027-04-02&open=day', ready: '.opened ol li' },
  unit: { hash: '#/unit/sawpit-ridge?day=2027-04-02', ready: '.plots canvas' },
  plan: { hash: '#/plan', ready: '.proposed li' },
  map: { hash: '#/map?day=2027-04-02', ready: '.drift' },
  alerts: { hash: '#/alerts', ready: 'main h1' },
  feeds: { hash: '#/feeds', ready: 'table.rows tbody tr' },
};

export async function get(path) {
  return (await fetch(`${address}/api/v1${path}`)).json();
}

export async function send(method, path, body) {
  return fetch(`${address}/api/v1${path}`, {
    method,
    headers: { 'Content-Type': 'application/json', Origin: address },
    body: body && JSON.stringify(body),
  });
}

// Calls `look` with a page; afterwards says what it did that no page may do. `before` may set routes.
export async function withPage(look, { width = 1400, height = 900, before, expects = [], ...options } = {}) {
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
  try {
    const context = await browser.newContext({ viewport: { width, height }, reducedMotion: 'reduce', ...options });
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    const wrong = [];
    page.on('request', (request) => {
      const url = new URL(request.url());
      if (url.protocol !== 'data:' && url.protocol !== 'blob:' && url.origin !== address) wrong.push(`asked for ${request.url()}`);
    });
    page.on('pageerror', (error) => wrong.push(`error: ${error.message}`));
    page.on('console', (message) => {
      const text = message.text();
      // What the service does not offer yet is asked for once, which the browser notes.
      if (message.type() === 'error' && !expects.some((e) => text.includes(e)) && !/Failed to load resource.*40[14]/.test(text)) wrong.push(`console: ${text}`);
    });
    await page.addInitScript(() => {
      window.stopped = [];
      document.addEventListener('securitypolicyviolation', (e) => window.stopped.push(`${e.violatedDirective} ${e.blockedURI}`));
    });
    if (before) await before(page);
    await look(page);
    wrong.push(...(await page.evaluate(() => window.stopped)).map((s) => `policy: ${s}`));
    assert.deepEqual(wrong, []);
  } finally {
    await browser.close();
  }
}

export async function open(page, view) {
  const { hash, ready } = typeof view === 'string' ? views[view] : view;
  await page.goto(`${address}/${hash}`);
  await page.waitForSelector(ready, { state: 'attached' });
}

// What axe-core finds wrong, each in a line.
export async function faults(page) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  return violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.target.join(' ')}: ${n.failureSummary.replaceAll('\n', ' ')}`));
}

// The service's state as it is, changed.
export function statusRoute(page, change) {
  return page.route('**/api/v1/status', async (route) => {
    const answer = await route.fetch({ headers: { accept: 'application/json' } });
    const status = await answer.json();
    change(status);
    await route.fulfill({ json: status });
  });
}
