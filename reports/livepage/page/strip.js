// The strip chart: lanes on a ruled grid, ink lines, time running to the right.

const LANE = 26, SWING = 12, CURRENT = 150, TOP = 34, BOTTOM = 34, PERF = 9;

export class Strip {
  constructor(canvas, tick) {
    this.canvas = canvas;
    this.second = 1e9 / tick; // ticks in one
    this.span = 20; // seconds shown
    this.back = 0; // seconds between now and the right edge
    this.head = 0; // ticks: the right edge of what has been written, as shown
    this.scale = 1;
    this.out = { lo: 0, hi: 0 };
    this.frames = 0;
    this.spent = 0;
    this.colours();
  }

  colours() {
    const css = getComputedStyle(this.canvas);
    const c = (name) => css.getPropertyValue(name).trim();
    this.c = { paper: c('--paper'), fine: c('--fine'), main: c('--main'), frame: c('--frame'), ink: c('--ink'), faint: c('--faint'),
      small: c('--small'), accent: c('--accent'), desk: c('--desk') };
    this.stale = true;
  }

  fit(lines) {
    const wide = Math.max(200, this.canvas.parentElement.clientWidth), high = TOP + lines * LANE + CURRENT + BOTTOM;
    const ratio = Math.min(3, window.devicePixelRatio || 1);
    this.ratio = ratio;
    this.wide = wide;
    this.high = high;
    this.canvas.width = Math.round(wide * ratio);
    this.canvas.height = Math.round(high * ratio);
    this.canvas.style.height = high + 'px';
    this.gutter = wide < 520 ? 92 : 128;
    this.stale = true;
  }

  // step lets the paper move on smoothly to what has come, and draws it where there is
  // anything new.
  step(paper, elapsed, still) {
    const behind = paper.now - this.head;
    if (behind > 5 * this.second || behind < 0 || still) this.head = paper.now;
    else if (behind > 0) this.head = Math.min(paper.now, this.head + behind * (1 - Math.exp(-elapsed / 90)) + 0.5);
    else if (!this.stale) return false;
    const began = performance.now();
    this.draw(paper);
    this.spent += performance.now() - began;
    this.frames++;
    this.stale = false;
    return true;
  }

  draw(paper) {
    const g = this.canvas.getContext('2d', { alpha: false });
    g.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    const right = this.head - this.back * this.second, left = right - this.span * this.second;
    const x0 = this.gutter, x1 = this.wide - 12, per = (x1 - x0) / (right - left);
    const view = { g, left, right, x0, x1, per, x: (t) => x0 + (t - left) * per };
    const c = this.c;
    g.fillStyle = c.paper;
    g.fillRect(0, 0, this.wide, this.high);
    this.perforate(view);
    this.grid(view);
    this.dividers(view, paper);
    let y = TOP;
    g.font = '12px sans-serif';
    for (const l of paper.lines) {
      this.lane(view, l, paper.edges.get(l.n), y);
      y += LANE;
    }
    this.current(view, paper.readings, y);
    this.frame(view, y + CURRENT);
  }

  perforate({ g }) {
    g.fillStyle = this.c.desk;
    const shift = ((this.head / this.second) * 22) % 22;
    for (const y of [PERF / 2 + 1, this.high - PERF / 2 - 1]) {
      for (let x = 11 - shift; x < this.wide + 11; x += 22) {
        g.beginPath();
        g.arc(x, y, 2.4, 0, 7);
        g.fill();
      }
    }
  }

  // grid rules the paper. The lines stand on the paper and run with it.
  grid({ g, left, right, x0, x1, x }) {
    const c = this.c, bottom = this.high - BOTTOM;
    const steps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, 120, 300, 600];
    const step = steps.find((s) => (s / this.span) * (x1 - x0) >= 64) || 600;
    const rule = (every, colour) => {
      g.strokeStyle = colour;
      g.lineWidth = 1;
      g.beginPath();
      for (let t = Math.ceil(left / every) * every; t <= right; t += every) {
        const px = Math.round(x(t)) + 0.5;
        g.moveTo(px, TOP - 4);
        g.lineTo(px, bottom);
      }
      g.stroke();
    };
    rule((step * this.second) / 5, c.fine);
    rule(step * this.second, c.main);
    g.fillStyle = c.small;
    g.font = '11px sans-serif';
    g.textAlign = 'center';
    for (let t = Math.ceil(left / (step * this.second)) * step * this.second; t <= right; t += step * this.second) {
      if (t < 0) continue;
      const px = x(t);
      if (px > x0 + 12 && px < x1 - 8) g.fillText(clock(t / this.second, step), px, bottom + 14);
    }
  }

  dividers({ g, left, right, x, x1 }, paper) {
    g.textAlign = 'left';
    g.font = '11px sans-serif';
    let free = x(left); // where no text stands yet
    for (const m of paper.marks) {
      if (m.at < left - 60 * this.second || m.at > right) continue;
      const px = Math.round(x(m.at)) + 0.5;
      if (m.at >= left) {
        g.strokeStyle = this.c.accent;
        g.setLineDash([4, 3]);
        g.beginPath();
        g.moveTo(px, PERF + 3);
        g.lineTo(px, this.high - BOTTOM);
        g.stroke();
        g.setLineDash([]);
        g.fillStyle = this.c.accent;
        const edge = x1 + 10, whole = Math.min(320, g.measureText(m.text).width), before = px - 4 - whole;
        const at = px + 4 + whole > edge && before >= free ? before : px + 4; // not cut off at the right
        const text = fitted(g, m.text, Math.min(320, edge - at));
        g.fillText(text, at, PERF + 14);
        if (text) free = at + g.measureText(text).width + 6;
      }
    }
  }

  label({ g }, text, y) {
    g.fillStyle = this.c.ink;
    g.textAlign = 'right';
    g.font = '12px sans-serif';
    g.fillText(text, this.gutter - 8, y, this.gutter - 12);
  }

  lane(view, line, edges, y) {
    const { g, left, right, x0, x } = view, base = y + LANE - 7;
    this.label(view, line.name, base - 2);
    g.strokeStyle = this.c.fine;
    g.beginPath();
    g.moveTo(x0, base + 0.5);
    g.lineTo(view.x1, base + 0.5);
    g.stroke();
    if (!edges.n) return;
    g.save();
    g.beginPath();
    g.rect(x0, y, view.x1 - x0, LANE);
    g.clip();
    let i = edges.find(left);
    let level = i > edges.first ? edges.levelAt(i - 1) : -1;
    const end = Math.min(x(right), x(this.head));
    g.strokeStyle = this.c.ink;
    g.lineWidth = 1.6;
    g.beginPath();
    let from = x0, drawn = -1;
    const stand = (v) => base - (v ? SWING : 0);
    if (level >= 0) g.moveTo(x0, stand(level));
    for (; i < edges.n && edges.at(i) <= right; i++) {
      const px = x(edges.at(i)), next = edges.levelAt(i);
      if (level < 0) {
        g.moveTo(px, stand(next));
      } else if (px - drawn >= 0.5 || drawn < 0) {
        g.lineTo(px, stand(level));
        g.lineTo(px, stand(next));
        drawn = px;
      } else {
        g.lineTo(px, stand(next));
      }
      level = next;
      from = px;
    }
    if (level >= 0) g.lineTo(Math.max(from, end), stand(level));
    g.stroke();
    g.restore();
  }

  // current draws the motor current: for each column the least and the most in it.
  current(view, readings, y) {
    const { g, left, right, x0, x1, per, x } = view, c = this.c;
    const mid = y + CURRENT / 2, half = CURRENT / 2 - 12;
    let i = readings.find(left);
    const last = readings.find(right, i);
    readings.range(i, last, this.out);
    const most = last > i ? Math.max(Math.abs(this.out.lo), Math.abs(this.out.hi)) : 1;
    const wanted = nice(most * 1.08);
    if (wanted > this.scale || wanted < this.scale / 2) this.scale = wanted;
    this.label(view, 'motor A', mid - 20);
    g.font = '11px sans-serif';
    for (const part of [-1, -0.5, 0, 0.5, 1]) {
      const py = Math.round(mid - part * half) + 0.5;
      g.strokeStyle = part ? c.fine : c.main;
      g.beginPath();
      g.moveTo(x0, py);
      g.lineTo(x1, py);
      g.stroke();
      g.fillStyle = c.small;
      if (part !== 0.5 && part !== -0.5) g.fillText(short(part * this.scale), this.gutter - 8, py + 4);
    }
    if (last <= i) return;
    g.strokeStyle = c.ink;
    g.lineWidth = 1.3;
    g.lineJoin = 'round';
    g.save();
    g.beginPath();
    g.rect(x0, y, x1 - x0, CURRENT);
    g.clip();
    g.beginPath();
    let open = false, before = 0;
    const wide = Math.max(1, Math.round(1 / per)); // a column, in ticks: it stands on the paper and runs with it
    const gap = Math.max(0.5 * this.second, 3 * wide);
    while (i < last) {
      const column = Math.floor(readings.at(i) / wide), j = Math.min(last, readings.find((column + 1) * wide, i));
      readings.range(i, j, this.out);
      const px = x(column * wide), a = mid - (this.out.hi / this.scale) * half, b = mid - (this.out.lo / this.scale) * half;
      if (open && column * wide - before <= gap) g.lineTo(px, a); else g.moveTo(px, a);
      if (b - a > 0.3) g.lineTo(px, b);
      open = true;
      before = column * wide;
      i = j;
    }
    g.stroke();
    g.restore();
    g.lineWidth = 1;
  }

  frame({ g, x0, x1 }, bottom) {
    g.strokeStyle = this.c.frame;
    g.strokeRect(x0 + 0.5, TOP - 4.5, x1 - x0 - 1, bottom - TOP + 4);
  }
}

// fitted shortens a text to the room that it has. Of a few letters nothing is left.
function fitted(g, text, room) {
  const wide = g.measureText(text).width;
  if (wide <= room) return text;
  let n = Math.floor((text.length * room) / wide);
  while (n > 4 && g.measureText(text.slice(0, n) + '\u2026').width > room) n--;
  return n > 4 ? text.slice(0, n).trimEnd() + '\u2026' : '';
}

function nice(v) {
  if (!(v > 1)) return 1; // noise is not to fill the lane
  const p = 10 ** Math.floor(Math.log10(v));
  return [1, 2, 5, 10].map((k) => k * p).find((k) => k >= v) || 10 * p;
}

function short(v) { return v === 0 ? '0' : String(+v.toPrecision(3)).replace('-', '\u2212'); }

// clock writes seconds of the paper.
export function clock(s, step) {
  const digits = step < 1 ? 1 : 0;
  if (s < 60) return s.toFixed(digits) + ' s';
  const m = Math.floor(s / 60), rest = s - 60 * m;
  return m + ':' + rest.toFixed(digits).padStart(digits ? 4 : 2, '0');
}
