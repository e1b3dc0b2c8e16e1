// What launches the worksheet in the tests: a record with its authorization server, each on an
// address of its own. Written from the specification; the user signs in and agrees at once.
//
// Sources: HL7 SMART App Launch 2.2; RFC 6749; RFC 7636.

import { createHash, randomBytes } from 'node:crypto';
import { createServer } from 'node:http';
import { outcome, Store } from './fhirstore.mjs';

/** The Practitioner who signs in. */
const clinician = { resourceType: 'Practitioner', id: 'c1', name: [{ given: ['Invented'], family: 'Clinician' }] };

export class Launcher {
  store = new Store();
  capabilities = ['launch-ehr', 'launch-standalone', 'client-public', 'context-ehr-patient', 'context-ehr-encounter', 'context-standalone-patient', 'permission-v2', 'sso-openid-connect'];
  challenges = ['S256'];
  lifetime = 300; // of an access token, in seconds
  codeLifetime = 60;
  renews = true; // whether online_access is granted
  permit = (scope) => scope; // what is granted of what was asked for
  pageSize = 1000;
  upstream = ''; // the base of a record that answers in place of the store, and lets in everybody
  fault = null; // (request) => what is answered instead of the record, if anything
  asked = []; // of the record: method, path, and the authorization
  authorizations = []; // the parameters of each authorization request
  refused = []; // why the authorization server refused
  referrers = []; // the addresses of pages that requests told
  #launches = new Map();
  #codes = new Map();
  #tokens = new Map();
  #renewals = new Map();

  /** start listens, on free ports or on those of the record and of its authorization server, and gives itself. */
  static async start(ports = [0, 0]) {
    const launcher = new Launcher();
    launcher.store.put(clinician);
    launcher.record = await listen((request, response) => launcher.#noted(request).#record(request, response), ports[0]);
    launcher.authorization = await listen((request, response) => launcher.#noted(request).#authorize(request, response), ports[1]);
    launcher.base = `${launcher.record.origin}/fhir`;
    return launcher;
  }

  async stop() {
    await Promise.all([this.record.close(), this.authorization.close()]);
  }

  #noted({ headers: { referer } }) {
    if (referer) this.referrers.push(referer);
    return this;
  }

  /** launch begins a launch for a patient and gives where the record would lead the browser. */
  launch(service, context) {
    const id = randomBytes(8).toString('hex');
    this.#launches.set(id, context);
    return `${service}/worksheet/launch.html?iss=${encodeURIComponent(this.base)}&launch=${id}`;
  }

  /** endTokens makes the record refuse all tokens that were given out. */
  endTokens() {
    this.#tokens.clear();
  }

  // The authorization server

  async #authorize(request, response) {
    const url = new URL(request.url, this.authorization.origin);
    if (url.pathname === '/authorize' && request.method === 'GET') {
      this.#agree(url.searchParams, response);
      return;
    }
    if (url.pathname === '/token' && allowed(request, response)) {
      const form = new URLSearchParams(await bodyOf(request));
      const answer = this.#token(form);
      if (answer.error) this.refused.push(answer.error_description);
      send(response, answer.error ? 400 : 200, answer, { 'Cache-Control': 'no-store' });
      return;
    }
    if (!response.writableEnded) send(response, 404, {});
  }

  #agree(asked, response) {
    this.authorizations.push(Object.fromEntries(asked));
    const back = new URL(asked.get('redirect_uri'));
    const wrong = ['response_type', 'client_id', 'redirect_uri', 'scope', 'state', 'aud', 'code_challenge', 'code_challenge_method'].find((name) => !asked.get(name))
      ?? (asked.get('aud') === this.base ? null : 'aud') ?? (asked.get('code_challenge_method') === 'S256' ? null : 'code_challenge_method')
      ?? (asked.get('client_id') === 'worksheet' ? null : 'client_id');
    const context = asked.has('launch') ? this.#launches.get(asked.get('launch')) : this.chosen;
    this.#launches.delete(asked.get('launch'));
    if (wrong || !context || this.denies) {
      back.searchParams.set('error', wrong ? 'invalid_request' : 'access_denied');
      if (wrong) this.refused.push(`authorize: ${wrong}`);
    } else {
      const code = randomBytes(16).toString('hex');
      this.#codes.set(code, { asked, context, until: Date.now() + 1000 * this.codeLifetime });
      back.searchParams.set('code', code);
    }
    back.searchParams.set('state', this.tamper?.(asked.get('state')) ?? asked.get('state'));
    if (this.issuer) back.searchParams.set('iss', this.issuer);
    response.writeHead(302, { Location: back.href, 'Referrer-Policy': 'no-referrer' }).end();
  }

  #token(form) {
    const refuse = (error_description) => ({ error: 'invalid_grant', error_description });
    if (form.get('grant_type') === 'refresh_token') {
      const renewed = this.#renewals.get(form.get('refresh_token'));
      this.#renewals.delete(form.get('refresh_token'));
      return renewed ? this.#grant(renewed) : refuse('no such refresh token');
    }
    const code = this.#codes.get(form.get('code'));
    this.#codes.delete(form.get('code'));
    if (!code) return refuse('no such code');
    if (Date.now() >= code.until) return refuse('the code is too old');
    if (form.get('redirect_uri') !== code.asked.get('redirect_uri') || form.get('client_id') !== code.asked.get('client_id')) return refuse('another client');
    const digest = createHash('sha256').update(form.get('code_verifier') ?? '').digest('base64url');
    if (!/^[A-Za-z0-9._~-]{43,128}$/.test(form.get('code_verifier') ?? '') || digest !== code.asked.get('code_challenge')) return refuse('another verifier');
    return this.#grant({ scope: this.permit(code.asked.get('scope')), context: code.context });
  }

  #grant(granted) {
    const access_token = randomBytes(16).toString('hex');
    this.#tokens.set(access_token, { ...granted, until: Date.now() + 1000 * this.lifetime });
    const answer = { access_token, token_type: 'Bearer', expires_in: this.lifetime, scope: granted.scope, ...granted.context };
    if (this.renews) {
      answer.refresh_token = randomBytes(16).toString('hex');
      this.#renewals.set(answer.refresh_token, granted);
    }
    if (granted.scope.split(' ').includes('fhirUser')) answer.id_token = `e30.${Buffer.from(JSON.stringify({ fhirUser: `${this.base}/Practitioner/c1` })).toString('base64url')}.none`;
    return answer;
  }

  // The record

  async #record(request, response) {
    const url = new URL(request.url, this.record.origin);
    if (!allowed(request, response)) return;
    this.asked.push({ method: request.method, path: url.pathname + url.search, authorization: request.headers.authorization });
    const body = await bodyOf(request);
    const instead = this.fault?.({ method: request.method, path: url.pathname, body });
    if (instead === 'down') {
      request.socket.destroy();
      return;
    }
    if (instead === 'cut') {
      response.writeHead(200, { 'Content-Length': '1000' });
      response.write('{', () => request.socket.destroy());
      return;
    }
    if (instead) {
      send(response, instead.status, instead.body ?? outcome('a fault'), instead.headers);
      return;
    }
    if (url.pathname === '/fhir/.well-known/smart-configuration') {
      const { origin } = this.authorization;
      send(response, 200, {
        issuer: origin, authorization_endpoint: `${origin}/authorize`, token_endpoint: `${origin}/token`, grant_types_supported: ['authorization_code'],
        capabilities: this.capabilities, code_challenge_methods_supported: this.challenges, ...this.says,
      });
      return;
    }
    const token = this.#tokens.get(request.headers.authorization?.replace('Bearer ', ''));
    if (this.upstream && token) {
      await this.#forward(request, url, body, response);
      return;
    }
    try {
      if (!token || Date.now() >= token.until) send(response, 401, outcome('no valid token', 'login'));
      else send(response, 200, this.#answer(request.method, url, body, token));
    } catch (error) {
      send(response, error.status ?? 500, outcome(error.message));
    }
  }

  // forward has another record answer, under the address of this one.
  async #forward({ method, headers }, url, body, response) {
    const answer = await fetch(this.upstream + url.pathname.replace(/^\/fhir/, '') + url.search, {
      method, body: method === 'GET' ? undefined : body, headers: { Accept: headers.accept, 'Content-Type': headers['content-type'] ?? 'application/fhir+json' },
    });
    const text = (await answer.text()).replaceAll(this.upstream, this.base);
    response.writeHead(answer.status, { 'Content-Type': 'application/fhir+json' }).end(text);
  }

  #answer(method, url, body, { context }) {
    const path = url.pathname.replace(/^\/fhir\/?/, '');
    if (method === 'POST' && path === '') return this.store.transact(JSON.parse(body));
    const [type, second] = path.split('/');
    if (method === 'POST' && second === '_search') return this.#page(type, new URLSearchParams(body), 0, context);
    if (method === 'GET' && url.searchParams.has('_page')) {
      const parameters = new URLSearchParams(url.searchParams.get('of'));
      return this.#page(type, parameters, Number(url.searchParams.get('_page')), context);
    }
    const found = method === 'GET' && this.store.read(path);
    if (!found) throw Object.assign(new Error('not there'), { status: 404 });
    return found;
  }

  #page(type, parameters, from, { patient }) {
    if (![parameters.get('patient'), parameters.get('_id')].includes(patient)) throw Object.assign(new Error('another patient'), { status: 403 });
    const found = this.store.search(type, parameters);
    const link = [];
    if (from + this.pageSize < found.length) {
      link.push({ relation: 'next', url: `${this.elsewhere ?? this.base}/${type}?of=${encodeURIComponent(parameters)}&_page=${from + this.pageSize}` });
    }
    return {
      resourceType: 'Bundle', type: 'searchset', total: found.length, link,
      entry: found.slice(from, from + this.pageSize).map((resource) => ({ fullUrl: `${this.base}/${type}/${resource.id}`, resource, search: { mode: 'match' } })),
    };
  }
}

/** allowed answers what a browser asks first, and reports whether the request is to be answered itself. */
function allowed(request, response) {
  response.setHeader('Access-Control-Allow-Origin', '*');
  response.setHeader('Access-Control-Expose-Headers', 'Retry-After');
  if (request.method !== 'OPTIONS') return true;
  response.writeHead(204, { 'Access-Control-Allow-Methods': 'GET, POST', 'Access-Control-Allow-Headers': 'authorization, content-type' }).end();
  return false;
}

async function bodyOf(request) {
  const parts = [];
  for await (const part of request) parts.push(part);
  return Buffer.concat(parts).toString('utf8');
}

function send(response, status, body, headers = {}) {
  response.writeHead(status, { 'Content-Type': 'application/json', ...headers }).end(JSON.stringify(body));
}

async function listen(answer, port) {
  const server = createServer(answer);
  await new Promise((resolve) => { server.listen(port, '127.0.0.1', resolve); });
  return {
    origin: `http://127.0.0.1:${server.address().port}`,
    close: () => new Promise((resolve) => { server.closeAllConnections(); server.close(resolve); }),
  };
}
