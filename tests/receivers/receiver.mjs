// A receiver of webhooks that believes only the public library `standardwebhooks`: node receiver.mjs KEY CERTIFICATE
// Writes its port, then for each message a line of JSON: what came, and by which secrets it is verified. Reads secrets, a line
// each; before the first one messages wait.
import { readFileSync } from 'node:fs';
import { createServer } from 'node:https';
import { createInterface } from 'node:readline';
import { Webhook } from 'standardwebhooks';

const [, , key, certificate] = process.argv;
const secrets = [];
let tell;
const first = new Promise((resolve) => (tell = resolve));
createInterface({ input: process.stdin }).on('line', (secret) => {
  secrets.push(secret);
  tell();
}).on('close', () => process.exit(0));

function isVerified(secret, body, headers) {
  try {
    new Webhook(secret).verify(body, headers);
    return true;
  } catch {
    return false;
  }
}

// The message with one thing changed at a time: none of these may be believed.
function* spoiled(body, headers) {
  yield [body.replace('1.0', '1.1'), headers];
  yield [body + ' ', headers];
  yield [body, { ...headers, 'webhook-id': headers['webhook-id'] + '0' }];
  yield [body, { ...headers, 'webhook-timestamp': String(Number(headers['webhook-timestamp']) + 1) }];
  yield [body, { ...headers, 'webhook-signature': 'v1,' + 'A'.repeat(43) + '=' }];
}

const server = createServer({ key: readFileSync(key), cert: readFileSync(certificate) }, async (request, response) => {
  request.setEncoding('utf8');
  let body = '';
  for await (const piece of request) body += piece;
  await first;
  const headers = request.headers;
  const verified = secrets.map((secret) => isVerified(secret, body, headers));
  const believed = [...spoiled(body, headers)].filter(([other, changed]) => secrets.some((secret) => isVerified(secret, other, changed)));
  response.writeHead(verified.includes(true) ? 204 : 401).end();
  console.log(JSON.stringify({ id: headers['webhook-id'], type: headers['content-type'], method: request.method, path: request.url, verified, believed: believed.length, body }));
});
server.listen(0, '127.0.0.1', () => console.log(server.address().port));
