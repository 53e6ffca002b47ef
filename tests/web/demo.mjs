// Starts and stops the demo that the tests of the page look at, one for all of them:
//   node demo.mjs start PROGRAM FOLDER    node demo.mjs stop FOLDER
// FOLDER/address holds where it listens.
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { setTimeout as pause } from 'node:timers/promises';

const here = dirname(fileURLToPath(import.meta.url));
const [, , what, ...rest] = process.argv;

// The browser's driver and what checks pages and calendars, once, at the versions of the lock file.
function fetch() {
  const { dependencies } = JSON.parse(readFileSync(join(here, 'package.json'), 'utf8'));
  if (Object.keys(dependencies).every((name) => existsSync(join(here, 'node_modules', name)))) return;
  const { status } = spawnSync('npm', ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--loglevel=error'], { cwd: here, stdio: 'inherit' });
  if (status !== 0) process.exit(1);
}

async function start(program, folder) {
  fetch();
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const log = join(folder, 'log');
  const out = openSync(log, 'w');
  const child = spawn(program, ['demo', '--port', '0', '--data', join(folder, 'data')], { detached: true, stdio: ['ignore', out, out] });
  writeFileSync(join(folder, 'pid'), String(child.pid));
  let hasEnded = false;
  child.on('exit', () => (hasEnded = true));
  for (let second = 0; second < 240; second += 0.25) {
    const said = readFileSync(log, 'utf8');
    const address = said.match(/http:\/\/127\.0\.0\.1:\d+/);
    if (address) {
      writeFileSync(join(folder, 'address'), address[0]);
      child.unref();
      return;
    }
    if (hasEnded) break;
    await pause(250);
  }
  console.error(`The demo does not listen:\n${readFileSync(log, 'utf8')}`);
  process.exit(1);
}

function stop(folder) {
  const pid = join(folder, 'pid');
  if (existsSync(pid)) process.kill(Number(readFileSync(pid, 'utf8')), 'SIGTERM');
}

if (what === 'start') await start(...rest);
else stop(...rest);
