// The paper: all readings and edges of the last hour in typed arrays, with a pyramid of
// the least and the most over them, so that any stretch of it is drawn in the same time.
// Its memory is bounded: the oldest readings make way.

const STEP = 4; // each level of the pyramid stands for 16 of the level below
const MOST = 1 << 22; // readings: 70 minutes at 1 kHz
const FIRST = 1 << 16;

function grown(Kind, old, size) {
  const next = new Kind(size);
  if (old) next.set(old);
  return next;
}

export class Readings {
  constructor(most = MOST) {
    this.most = most;
    this.n = 0; // readings so far
    this.size = 0;
    this.grow(Math.min(FIRST, most));
  }

  grow(size) {
    this.size = size;
    this.t = grown(Uint32Array, this.t, size);
    this.v = grown(Float32Array, this.v, size);
    const levels = [];
    for (let k = 0, s = size >> STEP; s >= 16; k++, s >>= STEP) {
      const old = this.levels && this.levels[k];
      levels.push({ lo: grown(Float32Array, old && old.lo, s), hi: grown(Float32Array, old && old.hi, s) });
    }
    const had = this.levels ? this.levels.length : 0;
    this.levels = levels;
    for (let k = had; k < levels.length; k++) this.rebuild(k);
  }

  // rebuild fills a level that is new from the one below.
  rebuild(k) {
    const { lo, hi } = this.levels[k];
    const per = 1 << (STEP * (k + 1));
    for (let b = 0; b * per < this.n; b++) {
      let l = Infinity, h = -Infinity;
      for (let i = b * per; i < Math.min(this.n, (b + 1) * per); i++) {
        if (this.v[i] < l) l = this.v[i];
        if (this.v[i] > h) h = this.v[i];
      }
      lo[b] = l; hi[b] = h;
    }
  }

  add(t, v) {
    if (this.n === this.size && this.size < this.most) this.grow(this.size * 2);
    const i = this.n & (this.size - 1);
    this.t[i] = t;
    this.v[i] = v;
    let per = 1;
    for (const { lo, hi } of this.levels) {
      per *= 16;
      const b = Math.floor(this.n / per) & (lo.length - 1);
      if (this.n % per === 0) {
        lo[b] = hi[b] = v;
      } else {
        if (v < lo[b]) lo[b] = v;
        if (v > hi[b]) hi[b] = v;
      }
    }
    this.n++;
  }

  // first is the number of the oldest reading. What shares a block with what has been
  // written over is not counted on.
  get first() { return this.n <= this.size ? 0 : this.n - this.size + Math.min(65536, this.size >> 2); }

  at(i) { return this.t[i & (this.size - 1)]; }
  value(i) { return this.v[i & (this.size - 1)]; }

  // find gives the number of the first reading at or after an instant.
  find(t, from = this.first) {
    let lo = from, hi = this.n;
    while (lo < hi) {
      const mid = Math.floor((lo + hi) / 2);
      if (this.at(mid) < t) lo = mid + 1; else hi = mid;
    }
    return lo;
  }

  // range puts the least and the most of the readings from i up to, without, j into out.
  range(i, j, out) {
    let l = Infinity, h = -Infinity;
    while (i < j) {
      let k = -1, per = 1;
      while (k + 1 < this.levels.length && i % (per * 16) === 0 && i + per * 16 <= j) { k++; per *= 16; }
      if (k < 0) {
        const v = this.value(i);
        if (v < l) l = v;
        if (v > h) h = v;
      } else {
        const b = (i / per) & (this.levels[k].lo.length - 1);
        if (this.levels[k].lo[b] < l) l = this.levels[k].lo[b];
        if (this.levels[k].hi[b] > h) h = this.levels[k].hi[b];
      }
      i += per;
    }
    out.lo = l; out.hi = h;
  }

  bytes() {
    let n = this.t.byteLength + this.v.byteLength;
    for (const { lo, hi } of this.levels) n += lo.byteLength + hi.byteLength;
    return n;
  }
}

// Edges are those of one line.
export class Edges {
  constructor(most = 1 << 15) {
    this.most = most;
    this.n = 0;
    this.size = 256;
    this.t = new Uint32Array(this.size);
    this.level = new Uint8Array(this.size);
  }

  add(t, level) {
    if (this.n && this.levelAt(this.n - 1) === level) return;
    if (this.n === this.size && this.size < this.most) {
      this.size *= 2;
      this.t = grown(Uint32Array, this.t, this.size);
      this.level = grown(Uint8Array, this.level, this.size);
    }
    const i = this.n++ & (this.size - 1);
    this.t[i] = t;
    this.level[i] = level;
  }

  get first() { return Math.max(0, this.n - this.size); }
  at(i) { return this.t[i & (this.size - 1)]; }
  levelAt(i) { return this.level[i & (this.size - 1)]; }

  // find gives the number of the first edge after an instant.
  find(t) {
    let lo = this.first, hi = this.n;
    while (lo < hi) {
      const mid = (lo + hi) >> 1;
      if (this.at(mid) <= t) lo = mid + 1; else hi = mid;
    }
    return lo;
  }

  get now() { return this.n ? this.levelAt(this.n - 1) : 0; }
  bytes() { return this.t.byteLength + this.level.byteLength; }
}

const DIVIDER = 255;

export class Paper {
  constructor(lines, most = MOST) {
    this.lines = lines;
    this.readings = new Readings(most);
    this.edges = new Map(lines.map((l) => [l.n, new Edges()]));
    this.dividers = [];
    this.marks = [];
    this.now = 0; // ticks
    this.leftOut = 0;
  }

  // take puts a batch on the paper.
  take(bytes) {
    const d = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    const now = d.getUint32(0, true), points = d.getUint32(4, true), edges = d.getUint32(8, true);
    this.leftOut += d.getUint32(12, true);
    let at = 16;
    for (let i = 0; i < points; i++, at += 8) this.readings.add(d.getUint32(at, true), d.getFloat32(at + 4, true));
    for (let i = 0; i < edges; i++, at += 8) {
      const word = d.getUint32(at + 4, true), line = word & 255;
      if (line === DIVIDER) {
        this.dividers.push(d.getUint32(at, true));
        if (this.dividers.length > 1024) this.dividers.splice(0, 512);
      } else if (this.edges.has(line)) {
        this.edges.get(line).add(d.getUint32(at, true), word >> 8);
      }
    }
    this.now = Math.max(this.now, now);
  }

  mark(m) {
    this.marks.push(m);
    if (this.marks.length > 512) this.marks.splice(0, 256);
  }

  bytes() {
    let n = this.readings.bytes();
    for (const e of this.edges.values()) n += e.bytes();
    return n;
  }
}

export function unpack(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return bytes;
}
