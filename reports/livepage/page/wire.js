// The wire to the program: one stream of events, which is opened again whenever it
// breaks, and requests. The token came in the address, behind the # where no server and
// no log sees it; it is kept for this tab alone.

const KEY = 'pintle-token';
const TABS = 4;

export function token() {
  const given = new URLSearchParams(location.hash.slice(1)).get('token');
  if (given) {
    sessionStorage.setItem(KEY, given);
    history.replaceState(null, '', location.pathname);
  }
  return sessionStorage.getItem(KEY) || '';
}

export class Refused extends Error {
  constructor(status, text) { super(text); this.status = status; }
}

export class Wire {
  constructor(token, on) {
    this.token = token;
    this.on = on;
    this.page = '';
    this.turn = 0; // of starts and stops, as it was told last
    this.heard = 0; // when anything was heard last
    this.open = false;
  }

  headers(more) {
    const h = { Authorization: 'Bearer ' + this.token, ...more };
    if (this.page) h['Pintle-Page'] = this.page;
    return h;
  }

  // get asks for a paper and takes in all of it. The tabs of one browser do so one after
  // the other: a paper may take long, and a connection must be left for STOP.
  async get(path) {
    const ask = async () => {
      const r = await fetch(path, { headers: this.headers(), cache: 'no-store' });
      if (!r.ok) throw await refused(r);
      return new Response(await r.blob(), { headers: r.headers });
    };
    return navigator.locks ? navigator.locks.request('pintle-paper', ask) : ask();
  }

  async act(path, body) {
    const r = await fetch(path, { method: 'POST', headers: this.headers({ 'Content-Type': 'application/json', 'Pintle-Turn': this.turn }), body: JSON.stringify(body || {}), keepalive: true });
    if (!r.ok) throw await refused(r);
  }

  // place takes one of a few places that the tabs of one browser share. Browsers open no
  // more than six connections to a program; each stream holds one, and some must be left
  // for STOP.
  async place() {
    if (!navigator.locks) return true;
    for (let i = 0; i < TABS; i++) {
      const got = await new Promise((done) => {
        navigator.locks.request('pintle-' + i, { ifAvailable: true }, (lock) => {
          done(!!lock);
          return lock && new Promise(() => {}); // kept as long as the tab lives
        });
      });
      if (got) return true;
    }
    return false;
  }

  // run keeps the stream open for ever. A server that is gone is tried every second.
  async run() {
    while (!await this.place()) {
      this.on.refused(new Refused(0, `${TABS} tabs of this browser show the bench already: close one of them`));
      await new Promise((r) => setTimeout(r, 1000));
    }
    for (;;) {
      let wait = 1000;
      try {
        await this.listen();
      } catch (e) {
        if (e instanceof Refused) {
          this.on.refused(e);
          wait = e.status === 401 ? 3000 : 1500;
        } else if (this.open && e.name !== 'AbortError' && !(e instanceof TypeError && /network/i.test(e.message))) {
          console.error(e); // of this page's own making, as like as not
        }
      }
      this.open = false;
      this.on.broken();
      await new Promise((r) => setTimeout(r, wait));
    }
  }

  async listen() {
    const quiet = new AbortController();
    let before = -1; // a page that was busy itself has what came meanwhile still to read
    const watch = setInterval(() => {
      const old = this.open && performance.now() - this.heard > 5000;
      if (old && before === this.heard) quiet.abort();
      before = old ? this.heard : -1;
    }, 1000);
    try {
      const r = await fetch('/api/stream', { headers: this.headers(), cache: 'no-store', signal: quiet.signal });
      if (!r.ok) throw await refused(r);
      await this.read(r.body.getReader());
    } finally {
      clearInterval(watch);
    }
  }

  async read(reader) {
    const decoder = new TextDecoder();
    let rest = '';
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      this.heard = performance.now();
      this.open = true;
      rest += decoder.decode(value, { stream: true });
      let end;
      while ((end = rest.indexOf('\n\n')) >= 0) {
        this.event(rest.slice(0, end));
        rest = rest.slice(end + 2);
      }
    }
  }

  event(text) {
    const cut = text.indexOf('\n');
    const name = text.slice(7, cut), data = text.slice(cut + 7);
    if (name === 'ink') { this.on.ink(data); return; }
    const v = JSON.parse(data);
    if (name === 'hello') this.page = v.page;
    if (name === 'state') this.turn = v.turn;
    if (this.on[name]) this.on[name](v);
  }
}

async function refused(r) {
  let why = r.statusText;
  try { why = (await r.json()).error || why; } catch { /* it had no words */ }
  return new Refused(r.status, why);
}
