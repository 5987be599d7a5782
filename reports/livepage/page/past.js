// Past runs: the logbook's list, one run's words and charts, two runs compared.

const signs = { pass: '\u2713', fail: '\u2717', inconclusive: '?', void: '\u2298', open: '\u2026' };

// verdict writes a verdict by sign, word and colour.
export function verdict(v) {
  const e = document.createElement('span');
  e.className = 'v v-' + v;
  e.textContent = (signs[v] ? signs[v] + ' ' : '') + v;
  return e;
}

const $ = (id) => document.getElementById(id);

// columns is how many letters of one width there is room for beside each other.
function columns() {
  const pen = document.createElement('canvas').getContext('2d');
  pen.font = getComputedStyle($('shownText')).font;
  return Math.floor(($('runs').closest('section').clientWidth - 60) / pen.measureText('0').width);
}

export class Past {
  constructor(wire) {
    this.wire = wire;
    this.chosen = [];
    this.papers = [];
    $('compare').addEventListener('click', () => this.compare());
    $('closeShown').addEventListener('click', () => { $('shown').hidden = true; $('compare').focus(); });
  }

  async load() {
    try {
      const runs = await (await this.wire.get('/api/runs')).json();
      this.latest = runs[0];
      this.chosen = this.chosen.filter((id) => runs.some((r) => r.id === id));
      $('runs').replaceChildren(...runs.map((r) => this.row(r)));
      this.says(runs.length ? '' : 'No runs yet.');
    } catch (e) { this.says(e.message); }
  }

  says(text) { $('pastSays').textContent = text; }

  row(r) {
    const tr = document.createElement('tr'), heads = ['Choose', 'Run', 'Verdict', 'Trials', 'Controller', 'Papers'], pick = document.createElement('input');
    pick.type = 'checkbox';
    pick.checked = this.chosen.includes(r.id);
    pick.setAttribute('aria-label', 'Choose run ' + r.id);
    pick.addEventListener('change', () => this.pick(r.id, pick.checked));
    const papers = [this.button('Show', 'Show run ' + r.id, () => this.show(r.id)),
      ...this.papers.map((p) => this.button(p.title, p.title + ' of run ' + r.id, () => this.fetch(r.id, p.name, p.ending)))];
    tr.setAttribute('role', 'row');
    for (const cell of [pick, r.id, verdict(r.verdict), String(r.trials), r.controller, papers]) {
      const td = document.createElement('td');
      td.setAttribute('role', 'cell'); // on a phone a row is a card, which would lose it
      td.dataset.head = heads[tr.children.length];
      td.append(...(Array.isArray(cell) ? cell.flatMap((c) => [c, ' ']) : [cell]));
      tr.append(td);
    }
    return tr;
  }

  button(text, label, act) {
    const b = document.createElement('button');
    b.type = 'button';
    b.textContent = text;
    b.setAttribute('aria-label', label);
    b.addEventListener('click', act);
    return b;
  }

  pick(id, on) {
    this.chosen = this.chosen.filter((c) => c !== id);
    if (on) this.chosen.push(id);
    if (this.chosen.length > 2) {
      const out = this.chosen.shift();
      for (const i of $('runs').querySelectorAll('input')) if (i.getAttribute('aria-label') === 'Choose run ' + out) i.checked = false;
    }
    $('compare').disabled = this.chosen.length !== 2;
  }

  async fetch(id, what, kind) {
    try {
      const blob = await (await this.wire.get(`/api/${what}?run=${encodeURIComponent(id)}`)).blob();
      const a = document.createElement('a');
      a.href = URL.createObjectURL(blob);
      a.download = `${what}-${id}.${kind}`;
      a.click();
      setTimeout(() => URL.revokeObjectURL(a.href), 60000);
      this.says(`${what}-${id}.${kind} is downloaded.`);
    } catch (e) { this.says(e.message); }
  }

  async picture(path, text) {
    const blob = await (await this.wire.get(path)).blob();
    const img = new Image();
    img.src = URL.createObjectURL(blob);
    img.alt = text;
    return img;
  }

  open(title, text, pictures) {
    $('shownH').textContent = title;
    $('shownText').textContent = text;
    $('shownCharts').replaceChildren(...pictures);
    $('shown').hidden = false;
    $('shown').focus();
  }

  async show(id) {
    try {
      const run = await (await this.wire.get(`/api/run?run=${encodeURIComponent(id)}&columns=${columns()}`)).json();
      const charts = run.scenarios.filter((s) => s.chart).map((s) => {
        const d = document.createElement('details'), sum = document.createElement('summary');
        sum.append(verdict(s.verdict), ' ', s.title);
        d.append(sum);
        d.addEventListener('toggle', async () => {
          if (!d.open || d.dataset.drawn) return;
          d.dataset.drawn = 'yes';
          const says = document.createElement('p');
          says.textContent = s.says;
          d.append(says);
          try {
            d.append(await this.picture(`/api/chart?run=${encodeURIComponent(id)}&scenario=${encodeURIComponent(s.name)}`, `Strip chart of the trial that decided: ${s.title}, ${s.verdict}. ${s.says}`));
          } catch (e) { says.textContent = e.message; }
        });
        return d;
      });
      this.open('Run ' + id, run.text, charts);
    } catch (e) { this.says(e.message); }
  }

  async compare() {
    const [a, b] = [...this.chosen].sort(), query = `?a=${encodeURIComponent(a)}&b=${encodeURIComponent(b)}`;
    try {
      const c = await (await this.wire.get(`/api/compare${query}&columns=${columns()}`)).json();
      const img = await this.picture('/api/picture' + query, 'The values of both runs, rule by rule, against their limits. ' + c.conclusion);
      this.open(`From run ${a} to run ${b}`, c.text, [img]);
    } catch (e) { this.says(e.message); }
  }
}
