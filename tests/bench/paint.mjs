// When the district's page has painted the largest part of what it shows: 500 units over ten days, nothing cached, a processor
// slowed down fourfold (Largest Contentful Paint, W3C), and which part that was. Beside it, since that need not be the table: when
// the first rows of units and days were painted. Also how smoothly it scrolls at full speed, and what the page asked for more than
// once. Needs bench_serve built in the folder (ninja bench_serve) and tests/web/node_modules.
//
//   node tests/bench/paint.mjs BUILD_FOLDER [UNITS] [ROUNDS]
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const { chromium } = createRequire(new URL('../web/page.test.mjs', import.meta.url))('playwright-core');
const [build, units = '500', rounds = '5'] = process.argv.slice(2);

async function paint(address) {
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
  try {
    const page = await (await browser.newContext({ viewport: { width: 1400, height: 900 } })).newPage();
    const asked = [];
    page.on('request', (request) => asked.push(request.url()));
    const cdp = await page.context().newCDPSession(page);
    await cdp.send('Emulation.setCPUThrottlingRate', { rate: 4 });
    await page.addInitScript(() => {
      window.found = { largest: 0, what: '', rows: 0 };
      new PerformanceObserver((list) => {
        for (const { startTime, element } of list.getEntries())
          Object.assign(window.found, { largest: startTime, what: `${element?.className || element?.tagName}: ${element?.textContent?.slice(0, 40)}` });
      }).observe({ type: 'largest-contentful-paint', buffered: true });
      // A frame that begins with rows in it has painted them when the next task runs.
      const look = () => {
        if (document.querySelector('table.days tbody tr')) requestAnimationFrame(() => setTimeout(() => (window.found.rows = performance.now())));
        else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);
    });
    await page.goto(`${address}/#/district`);
    await page.waitForSelector('table.days tbody tr');
    await page.waitForTimeout(3000);
    // Through many rows: how long each frame took.
    await cdp.send('Emulation.setCPUThrottlingRate', { rate: 1 });
    await page.evaluate(() => {
      window.frames = [];
      let last = performance.now();
      const tick = () => {
        const now = performance.now();
        window.frames.push(now - last);
        last = now;
        requestAnimationFrame(tick);
      };
      requestAnimationFrame(tick);
    });
    await cdp.send('Input.synthesizeScrollGesture', { x: 700, y: 500, yDistance: -12000, speed: 6000 });
    const frames = (await page.evaluate(() => window.frames)).sort((a, b) => a - b);
    return { ...(await page.evaluate(() => window.found)), frame: frames[Math.floor(0.95 * frames.length)], twice: asked.filter((url, i) => asked.indexOf(url) !== i) };
  } finally {
    await browser.close();
  }
}

const folder = mkdtempSync(join(tmpdir(), 'paint'));
const service = spawn(join(build, 'tests', 'bench_serve'), [join(folder, 'data'), units], { stdio: ['ignore', 'pipe', 'ignore'] });
try {
  const port = await new Promise((found, failed) => {
    let said = '';  // its port stands on a line of its own, among those of the log
    service.stdout.on('data', (text) => {
      const line = (said += text).match(/^(\d+)$/m);
      if (line) found(Number(line[1]));
    });
    service.once('exit', () => failed(new Error('bench_serve ended')));
  });
  // Nothing is measured while runs still come in: both feeds' are there, and the picture has stood for a while.
  const numberNow = async () => {
    const status = await (await fetch(`http://127.0.0.1:${port}/api/v1/status`)).json();
    return status.feeds.every((feed) => feed.newest_complete) ? status.picture.number : 0;
  };
  for (let stood = 0, last = 0; stood < 3; ) {
    await new Promise((is) => setTimeout(is, 2000));
    const now = await numberNow();
    stood = now > 0 && now === last ? stood + 1 : 0;
    last = now;
  }
  const found = [];
  for (let i = 0; i < Number(rounds); ++i) found.push(await paint(`http://127.0.0.1:${port}`));
  const say = (what, times) => {
    times.sort((a, b) => a - b);
    console.log(`${what}, ${units} units: median ${times[times.length >> 1].toFixed(0)} ms of ${times.map((t) => t.toFixed(0)).join(', ')}`);
  };
  say('largest contentful paint', found.map((f) => f.largest));
  console.log(`which was ${[...new Set(found.map((f) => f.what))].join(' | ')}`);
  say('first rows painted', found.map((f) => f.rows));
  say('a frame of scrolling, 95th percentile', found.map((f) => f.frame));
  console.log(`asked for twice: ${[...new Set(found.flatMap((f) => f.twice))].join(' ') || 'nothing'}`);
} finally {
  const ended = new Promise((is) => service.once('exit', is));
  if (service.exitCode === null && service.kill()) await ended;
  rmSync(folder, { recursive: true, force: true });
}
