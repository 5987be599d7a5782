// The page: what is told comes in by the wire, and goes onto the paper and into words.

import { Paper, unpack } from './paper.js';
import { Strip } from './strip.js';
import { Wire, token } from './wire.js';
import { Past, verdict } from './past.js';

const $ = (id) => document.getElementById(id);
const calm = matchMedia('(prefers-reduced-motion: reduce)');
const dark = matchMedia('(prefers-color-scheme: dark)');

let paper = null, strip = null, house = null, state = null, lost = 0, told = '', why = '';

// say writes a text only where it changes: a screen reader is not told twice.
function say(id, text) {
  const e = $(id);
  if (e.textContent !== text) e.textContent = text;
}

const wire = new Wire(token(), {
  hello(v) {
    house = v;
    say('title', v.title);
    say('about', [v.place, v.gate, v.controller, v.bench].filter(Boolean).join(' \u00b7 '));
    document.title = 'pintle: ' + v.title;
    paper = new Paper(v.lines);
    paper.take(unpack(v.paper));
    v.marks.forEach((m) => paper.mark(m));
    const was = strip;
    strip = new Strip($('strip'), v.tick);
    if (was) { strip.span = was.span; strip.back = was.back; }
    strip.fit(v.lines.length);
    strip.head = paper.now;
    blank();
    offer(v);
    warn(v.warnings);
    globalThis.pintle = { paper, strip, wire };
    past.papers = v.papers || [];
    past.load().then(earlier);
  },
  ink(text) {
    paper.take(unpack(text));
    if (strip.back > 0) hold();
  },
  mark(m) { paper.mark(m); },
  lost(n) { lost += n; },
  state(s) {
    const over = state && state.phase !== 'idle' && s.phase === 'idle';
    state = s;
    show(s);
    if (over) { past.load(); worded = 0; strip.stale = true; }
  },
  bye() {},
  broken() { connection(); },
  refused(e) { why = e.message; connection(); },
});
const past = new Past(wire);

// blank takes down what was told of another paper, or of another start of the program: what is
// not told anew is not so any more.
function blank() {
  told = '';
  say('scenario', 'Nothing is being performed.');
  say('why', '');
  $('rules').replaceChildren();
  if (paper.readings.n) return;
  say('said', 'Nothing on the paper yet.');
  $('strip').setAttribute('aria-label', 'Strip chart: nothing on the paper yet');
}

// earlier says, of a paper that is empty though there are runs, since when it is.
function earlier() {
  const r = past.latest;
  $('earlier').hidden = !r || paper.readings.n > 0;
  if (r) say('earlierText', `The paper begins anew with each start of the program. The run before it, ${r.id} (${r.verdict}), is in the logbook.`);
}
$('earlierShow').addEventListener('click', () => past.show(past.latest.id));

// hold keeps what is looked at where it is while the paper goes on.
let held = 0;
function hold() {
  strip.back = Math.min(3600, Math.max(0, (paper.now - held) / strip.second));
  setBack(strip.back);
}

function connection() {
  const w = $('wire'), quiet = (performance.now() - wire.heard) / 1000;
  const ok = wire.open && quiet < 3;
  w.classList.toggle('lost', !ok);
  $('strip').classList.toggle('old', !ok);
  if (ok) {
    why = '';
    say('wire', 'connected');
    $('operate').disabled = false;
    if (state) seat(state);
    return;
  }
  say('phase', 'Not known: this page is not connected');
  $('start').disabled = $('operate').disabled = true;
  const age = wire.heard ? `; the picture is ${Math.round(quiet)} s old` : '';
  say('wire', 'not connected' + age + (why ? ': ' + why : ''));
}

function offer(v) {
  const box = $('scenarios'), had = new Map([...box.querySelectorAll('input')].map((i) => [i.value, i.checked]));
  box.replaceChildren(...v.scenarios.map((s) => {
    const label = document.createElement('label'), input = document.createElement('input');
    input.type = 'checkbox';
    input.value = s.name;
    input.checked = had.has(s.name) ? had.get(s.name) : true;
    label.append(input, document.createTextNode(s.title));
    return label;
  }));
  count();
  $('paceBox').hidden = !v.anyPace;
  if (had.size || !v.anyPace) return;
  if (![...$('pace').options].some((o) => +o.value === v.pace)) $('pace').add(new Option(`${v.pace} times as fast`, v.pace));
  $('pace').value = String(v.pace);
}

// warn shows what looks like a mistake in the job's files, to whoever is to start a run.
function warn(all) {
  $('warned').hidden = !all.length;
  $('warnings').replaceChildren(...all.map((text) => {
    const li = document.createElement('li');
    li.textContent = text[0].toUpperCase() + text.slice(1);
    return li;
  }));
}

const phases = { idle: 'Idle. The supply is off.', running: 'Running', stopping: 'Stopping' };

function show(s) {
  const p = s.progress;
  let phase = phases[s.phase];
  if (s.phase === 'idle' && s.ended) phase = s.ended + '. The supply is off.';
  say('phase', phase);
  $('progressBox').hidden = !p;
  if (p) {
    $('progress').max = p.of;
    $('progress').value = p.done;
    say('progressText', `${p.done} of ${p.of} trials` + (p.left >= 0 ? `, ${left(p.left)} left` : ''));
  }
  say('tally', p ? Object.entries(p.tally).map(([k, n]) => `${n} ${k}`).join(', ') : '');
  seat(s);
  trial(s.scenario);
  rows($('latest'), s.verdicts, (v) => `${v.scenario} ${v.trial}`, (v) => {
    const li = document.createElement('li');
    li.append(verdict(v.verdict), ' ', `${v.scenario}, trial ${v.trial}`, v.reason ? tied(`: ${v.reason}`) : '');
    return li;
  });
  const c = s.check;
  say('check', c.date ? `${c.verdict}, ${c.date}: ${c.text}` : c.text);
  connection();
}

function left(s) {
  if (s < 90) return `${Math.ceil(s)} s`;
  if (s < 5400) return `${Math.ceil(s / 60)} min`;
  return `${(s / 3600).toFixed(1)} h`;
}

function seat(s) {
  const mine = s.operator === s.you, free = !s.operator, b = $('operate');
  const others = s.pages > 1 ? `${s.pages} pages look.` : 'Only this page looks.';
  say('seat', (mine ? 'This page has the controls.' : free ? 'Nobody has the controls.' : 'Another page has the controls.') + ' ' + others);
  say('operate', mine ? 'Give up the controls' : free ? 'Take the controls' : 'Take over the controls');
  b.dataset.wants = mine ? '' : 'yes';
  b.dataset.over = !mine && !free ? 'yes' : '';
  $('start').disabled = s.phase !== 'idle' || (!mine && !free);
}

function trial(t) {
  if (!t) {
    if (!told) say('scenario', 'Nothing is being performed.');
    return;
  }
  told = t.name;
  say('scenario', t.title + (t.trials > 1 ? `, trial ${t.trial} of ${t.trials}` : '') + (t.over ? `: ${t.over}` : '') + (t.day ? ` (${t.day})` : ''));
  say('why', t.why);
  rows($('rules'), t.rules, (r) => JSON.stringify(r), (r) => {
    const tr = document.createElement('tr'), heads = ['Verdict', 'Rule', 'Measured', 'Limit', 'Margin'], cells = [verdict(r.verdict || 'open'), r.name, r.value, r.limit, r.margin];
    tr.setAttribute('role', 'row');
    cells.forEach((c, i) => {
      const td = document.createElement('td');
      td.setAttribute('role', 'cell'); // on a phone a row is a card, which would lose it
      td.dataset.head = heads[i];
      if (c) td.append(i > 1 ? tied(c) : c);
      if (i === 1 && r.reason && r.verdict !== 'pass') {
        const why = document.createElement('div');
        why.className = 'small';
        why.textContent = tied(r.reason);
        td.append(why);
      }
      tr.append(td);
    });
    return tr;
  });
}

// tied keeps each number with its unit.
function tied(text) { return text.replace(/(\d) /g, '$1\u00a0'); }

// rows makes the rows of a list anew where they differ.
function rows(parent, all, key, make) {
  const keys = all.map(key);
  if (parent.dataset.keys === keys.join('\n') && parent.children.length === all.length) return;
  parent.dataset.keys = keys.join('\n');
  parent.replaceChildren(...all.map(make));
}

async function act(path, body) {
  say('refused', '');
  try {
    await wire.act(path, body);
  } catch (e) {
    const stop = path === '/api/stop';
    if (stop && e.status === 409) return; // nothing is performed, as was wanted
    const reason = e instanceof TypeError ? 'the program cannot be reached' : e.message;
    say('refused', stop ? `STOP did not come through (${reason}): take the supply off by hand!` : reason[0].toUpperCase() + reason.slice(1));
  }
}

function stop() {
  if (state && state.phase === 'running') say('phase', 'Stopping');
  act('/api/stop');
}

$('stop').addEventListener('click', stop);
document.addEventListener('keydown', (e) => {
  if (e.key === 'Escape' && !e.defaultPrevented && state && state.phase === 'running') stop();
});
$('operate').addEventListener('click', (e) => act('/api/operate', { operate: !!e.currentTarget.dataset.wants, over: !!e.currentTarget.dataset.over }));
$('all').addEventListener('click', () => tick(true));
$('none').addEventListener('click', () => tick(false));
function tick(on) {
  document.querySelectorAll('#scenarios input').forEach((i) => { i.checked = on; });
  count();
}
$('scenarios').addEventListener('change', count);

// count says how many scenarios are chosen.
function count() {
  const all = document.querySelectorAll('#scenarios input').length, on = document.querySelectorAll('#scenarios input:checked').length;
  say('chosen', on === all ? `all ${all}` : `${on} of ${all}`);
}

$('startForm').addEventListener('submit', (e) => {
  e.preventDefault();
  const chosen = [...document.querySelectorAll('#scenarios input:checked')].map((i) => i.value);
  if (!chosen.length) { say('refused', 'Choose at least one scenario.'); return; }
  act('/api/start', { scenarios: chosen, trials: +$('trials').value, seed: +$('seed').value, pace: house.anyPace ? +$('pace').value : 1 });
});

$('span').addEventListener('change', () => { strip.span = +$('span').value; strip.stale = true; });
$('back').addEventListener('input', () => {
  strip.back = +$('back').value;
  held = paper.now - strip.back * strip.second;
  setBack(strip.back);
  strip.stale = true;
});
$('now').addEventListener('click', () => { strip.back = 0; setBack(0); strip.stale = true; });

function setBack(s) {
  const text = s < 0.5 ? 'now' : `${left(s)} ago`;
  $('back').value = s;
  say('backText', text);
  if ($('back').getAttribute('aria-valuetext') !== text) $('back').setAttribute('aria-valuetext', text);
}

function amperes(v) { return v.toFixed(2).replace('-', '\u2212') + ' A'; }

// describe tells in words what the chart shows, for those who do not see it: as often as
// it is drawn, but not so often that nobody could read it. What a screen reader calls the
// chart changes less often still; none is told of its own accord.
const WORDS = 250, NAME = 2000;
let worded = 0, called = 0;
function describe(now) {
  if (!paper || !paper.readings.n || now - worded < WORDS) return;
  worded = now;
  $('earlier').hidden = true;
  const live = state && state.phase !== 'idle'; // what a line is when nothing runs stands beside the stop
  const r = paper.readings, right = strip.head - strip.back * strip.second, out = { lo: 0, hi: 0 };
  const i = r.find(right - strip.span * strip.second), j = r.find(right + 1, i);
  const parts = [], to = strip.back < 0.5 ? (live ? 'to now' : 'before') : `to ${left(strip.back)} ${live ? 'ago' : 'before the paper stopped'}`;
  if (strip.back < 0.5 && j > r.first) parts.push(`motor ${amperes(r.value(j - 1))} ${live ? 'now' : 'when the paper stopped'}`);
  if (i < j) {
    r.range(i, j, out);
    parts.push(`${parts.length ? '' : 'motor '}${amperes(out.lo)} to ${amperes(out.hi)} in the ${left(strip.span)} ${to}`);
  }
  const made = paper.lines.filter((l) => paper.edges.get(l.n).now).map((l) => `${l.name} ${l.made}`);
  if (live) parts.push((strip.back < 0.5 ? '' : 'now ') + (made.length ? made.join(', ') : 'no line is made'));
  if (paper.leftOut) parts.push(`${paper.leftOut} readings came faster than they can be drawn and were left out of the picture; the record has them all`);
  if (lost) parts.push(`${lost} batches were dropped as this page was too slow for them; the record has all`);
  const text = parts.join('; ') + '.';
  say('said', text[0].toUpperCase() + text.slice(1));
  if (now - called < NAME && live) return;
  called = now;
  $('strip').setAttribute('aria-label', 'Strip chart: ' + text);
}

let before = 0, drawn = 0, drew = false;
function frame(now) {
  requestAnimationFrame(frame);
  const elapsed = now - before;
  before = now;
  if (!strip || document.hidden) return;
  if (calm.matches) {
    if (now - drawn < 1000 && !strip.stale) return;
    drawn = now;
  }
  if (!strip.step(paper, elapsed, calm.matches)) return;
  describe(now);
  if (drew) return;
  drew = true;
  performance.mark('chart');
}

new ResizeObserver(() => { if (strip) strip.fit(paper.lines.length); }).observe($('strip').parentElement);
dark.addEventListener('change', () => { if (strip) strip.colours(); });
setInterval(() => describe(performance.now()), 2000); // also where nothing is drawn
setInterval(connection, 1000);
requestAnimationFrame(frame);
wire.run();
