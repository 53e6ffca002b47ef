// Bundles the page and writes it as a C++ source: each file as it is and as gzip, under a name that holds its content's hash.
//   node build.mjs --out FILE.cc      for the program
//   node build.mjs --folder DIR       to look at, or for a server of one's own
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const here = dirname(fileURLToPath(import.meta.url));
const budget = 150_000; // bytes of gzip for all of it
const types = { js: 'text/javascript; charset=utf-8', css: 'text/css; charset=utf-8', html: 'text/html; charset=utf-8', svg: 'image/svg+xml' };

function option(name) {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
}

// What the lock file names is fetched unless it is here: a build without a network works once it did with one.
function fetched() {
  const locked = JSON.parse(readFileSync(join(here, 'package-lock.json'), 'utf8')).packages;
  const isHere = ([path, { version, optional }]) => {
    const found = join(here, path, 'package.json');
    return path === '' || (existsSync(found) ? JSON.parse(readFileSync(found, 'utf8')).version === version : optional);
  };
  if (existsSync(join(here, 'node_modules')) && Object.entries(locked).every(isHere)) return;
  const { status, error } = spawnSync('npm', ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--loglevel=error'], { cwd: here, stdio: ['ignore', 'inherit', 'inherit'] });
  if (status === 0) return;
  console.error(`What bundles the page could not be fetched${error ? ` (${error.message})` : ''}; npm ci in service/web, with a network, does it`);
  process.exit(1);
}

// The bundle as [path, bytes].
async function bundled() {
  fetched();
  const { build } = await import('esbuild');
  const result = await build({
    absWorkingDir: here,
    entryPoints: ['src/page.tsx', 'src/first.ts'],
    outdir: 'assets',
    write: false,
    metafile: true,
    bundle: true,
    minify: true,
    splitting: true,
    format: 'esm',
    target: 'es2020',
    charset: 'utf8',
    jsx: 'automatic',
    jsxImportSource: 'preact',
    legalComments: 'none',
    loader: { '.png': 'dataurl' },
    entryNames: '[name]-[hash]',
    chunkNames: 'part-[hash]',
    logLevel: 'warning',
  });
  const files = result.outputFiles.map((file) => [`/assets/${file.path.split('/').pop()}`, Buffer.from(file.contents)]);
  const outputs = Object.entries(result.metafile.outputs);
  const made = (source, end) => outputs.find(([path, { entryPoint }]) => entryPoint === source && path.endsWith(end));
  // What a script imports is fetched beside it, not after it.
  const parts = (of) => outputs.find(([path]) => path === of)[1].imports.filter(({ kind }) => kind === 'import-statement').flatMap(({ path }) => [path, ...parts(path)]);
  const [first] = made('src/first.ts', '.js');
  const [page, { cssBundle }] = made('src/page.tsx', '.js');
  const preloads = [...new Set([page, ...parts(first), ...parts(page)])].map((path) => `<link rel="modulepreload" href="/${path}" />`);
  const html = readFileSync(join(here, 'index.html'), 'utf8')
    .replace('{{first}}', `/${first}`)
    .replace('{{style}}', `/${cssBundle}`)
    .replace('{{parts}}', preloads.join('\n    '));
  // The page's own style holds that of all its parts.
  const sent = files.filter(([path]) => !path.endsWith('.css') || path === `/${cssBundle}`);
  return [['/', Buffer.from(html)], ['/favicon.svg', readFileSync(join(here, 'favicon.svg'))], ...sent].sort(([a], [b]) => (a < b ? -1 : 1));
}

function typeOf(path) {
  return types[path === '/' ? 'html' : path.split('.').pop()];
}

// String literals side by side are one literal; octal, since a hexadecimal escape would swallow digits that follow.
function literal(bytes) {
  const lines = [];
  for (let at = 0; at < bytes.length; at += 64)
    lines.push(`    "${[...bytes.subarray(at, at + 64)].map((b) => `\\${b.toString(8).padStart(3, '0')}`).join('')}"`);
  return lines.join('\n') || '    ""';
}

function source(files) {
  const view = (bytes) => `     std::string_view(\n${literal(bytes)}, ${bytes.length})`;
  const rows = files.map(([path, bytes, packed]) => `    PageFile{"${path}", "${typeOf(path)}",\n${view(bytes)},\n${view(packed)}},\n`);
  return `// Made at build time from service/web.\n#include "service/http/page.h"\n\n#include <array>\n\nnamespace hakea::service {\n\nstd::span<const PageFile> page_files() {\n  static constexpr std::array kFiles{\n${rows.join('')}  };\n  return kFiles;\n}\n\n}  // namespace hakea::service\n`;
}

const files = (await bundled()).map(([path, bytes]) => [path, bytes, gzipSync(bytes, { level: 9 })]);
const size = files.reduce((sum, [, , packed]) => sum + packed.length, 0);
if (size > budget) {
  console.error(`The page is ${size} bytes of gzip, more than the ${budget} it may be`);
  process.exit(1);
}
if (option('out')) {
  mkdirSync(dirname(option('out')), { recursive: true });
  writeFileSync(option('out'), source(files));
}
if (option('folder')) {
  for (const [path, bytes] of files) {
    const file = join(option('folder'), path === '/' ? 'index.html' : path);
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, bytes);
  }
}
console.log(`The page: ${files.length} files, ${size} bytes of gzip`);
