"use strict";
// What a tier's readings foretell: the same arithmetic as scheduler/watch (estimate, explain, events,
// judge), held to it by tests/scheduler/outputs/test_phone_watch.py. Days are whole numbers.
const Watch = (() => {
  const OWN = [0.20, 0.25, 0.0];            // estimate: spread of level, slope, pace between tiers
  const ODDS = {misread: 0.02, rained: 0.005, leaked: 0.005};
  const FLOWS = {rained: [0.15, 0.10], leaked: [-0.25, 0.20]};
  const RIGHT = 1 - 0.02 - 0.005 - 0.005, FAR_OFF = 3.5;
  const ALARMING = 0.30, SURELY = 0.55, WORTH_TELLING = 0.10, TIME_LEFT = 14;
  const RULER_CM = 0.635, MOST_SHIFTED = 14, EARLY = 0.05, SAME_PICK = 10;
  const IN_SHADE = 0.75;
  const SHIFTS = {moved: 0.20, covered: 0.10, shaded: 0.15, uncovered: 0.10};

  // Error function by its series, and by a continued fraction further out (Abramowitz and Stegun
  // 7.1.5 and 7.1.14, from memory).
  function erf(x) {
    const a = Math.abs(x);
    if (a < 2.5) {
      let term = a, sum = a;
      for (let n = 1; n < 80; n++) { term *= -a * a / n; sum += term / (2 * n + 1); }
      return Math.sign(x) * 2 / Math.sqrt(Math.PI) * sum;
    }
    if (a > 27) return Math.sign(x);
    let f = 0;
    for (let n = 60; n > 0; n--) f = n / 2 / (a + f);
    return Math.sign(x) * (1 - Math.exp(-a * a) / Math.sqrt(Math.PI) / (a + f));
  }
  const normal = z => (1 + erf(z / Math.SQRT2)) / 2;
  const running = xs => { let s = 0; return [0, ...xs.map(x => s += x)]; };
  // To even, as Python rounds.
  function round(x) {
    const low = Math.floor(x), off = x - low;
    return off < 0.5 || (off === 0.5 && low % 2 === 0) ? low : low + 1;
  }

  // Vessels.
  function between(x, xs, ys) {
    let at = -1;
    while (at + 1 < xs.length && xs[at + 1] <= x) at++;
    if (at < 0) return ys[0];
    if (at >= xs.length - 1) return ys[ys.length - 1];
    return (ys[at + 1] - ys[at]) / (xs[at + 1] - xs[at]) * (x - xs[at]) + ys[at];
  }
  function volume(v, h) {
    if (v.shape === "table") return between(h, v.size, v.table);
    if (v.shape === "rectangular") return v.size[0] * v.size[1] * h / 1000;
    const bottom = v.size[0] / 2, radius = bottom + (v.size[1] / 2 - bottom) / v.height * h;
    return Math.PI * h / 3 * (bottom ** 2 + bottom * radius + radius * radius) / 1000;
  }
  function depth(v, litres) {
    if (v.shape === "table") return between(litres, v.table, v.size);
    if (v.shape === "rectangular") return litres * 1000 / (v.size[0] * v.size[1]);
    const bottom = v.size[0] / 2, slope = (v.size[1] / 2 - bottom) / v.height;
    if (Math.abs(slope) < 1e-9) return litres * 1000 / (Math.PI * bottom ** 2);
    const cube = 3 * slope * litres * 1000 / Math.PI + bottom ** 3;
    return (Math.cbrt(Math.max(cube, 0)) - bottom) / slope;
  }
  function rulerError(v, litres) {
    const d = depth(v, litres);
    const low = Math.max(d - RULER_CM, 0), high = Math.min(d + RULER_CM, v.height);
    return (volume(v, high) - volume(v, low)) / Math.max(high - low, 1e-9) * RULER_CM;
  }

  // Course and estimate.
  function course(kind, plants) {
    const n = kind.drinks.length, there = [];
    for (let d = 0; d < n; d++) there.push(plants[Math.min(d, plants.length - 1)]);
    return {
      days: n,
      water: running(kind.drinks.map((x, d) => x * there[d])),
      slope: running(kind.slopes.map((x, d) => x * there[d])),
      walk: running(kind.noise.map((x, d) => x * there[d] * there[d])),
      growth: kind.growth, spread: kind.growth_spread, years: kind.years,
    };
  }
  class Estimate {
    constructor(c) {
      this.c = c; this.day = 0; this.mean = [1, 0, 0, 0];
      this.cov = [0, 1, 2, 3].map(i => [0, 1, 2, 3].map(j =>
        i < 3 && j < 3 ? c.years[i][j] + (i === j ? OWN[i] ** 2 : 0) : 0));
    }
    own() { return Math.max(this.mean[0], 0.1); }
    go(day) {
      this.cov[3][3] += this.own() ** 2 * (this.c.walk[day] - this.c.walk[this.day]);
      this.day = day;
    }
    seen(day) { return [this.c.water[day], this.c.slope[day], 0, 1]; }
    times(h) { return this.cov.map(row => row.reduce((s, x, j) => s + x * h[j], 0)); }
    read(e) {
      this.go(e.day);
      const h = this.seen(e.day), ph = this.times(h);
      const expected = this.mean.reduce((s, m, i) => s + m * h[i], 0);
      const seen = h.reduce((s, x, i) => s + x * ph[i], 0);
      const variance = Math.max(seen, 0) + Math.max(e.error ** 2, 1e-12);
      const gain = ph.map(p => p / variance), off = e.gone - expected;
      this.mean = this.mean.map((m, i) => m + gain[i] * off);
      this.cov = this.cov.map((row, i) => row.map((x, j) => x - gain[i] * ph[j]));
      return [expected, Math.sqrt(variance)];
    }
    take(e) {
      if (e.what === "level") return this.read(e);
      this.go(e.day);
      if (e.what === "water") {
        this.mean[3] -= e.litres; this.cov[3][3] += e.spread ** 2;
      } else if (e.what === "shift") {
        const h = [1, 0, 0, -this.c.water[e.day]], v = e.spread ** 2;
        this.cov = this.cov.map((row, i) => row.map((x, j) => x + v * h[i] * h[j]));
      } else {
        const grown = this.c.growth[e.day], expected = this.progress(e.day)[0];
        if (e.least && expected >= e.progress) return null;
        const ph = this.cov.map(row => row[2] * grown);
        const v = grown * ph[2] + this.c.spread[e.day] ** 2 + e.spread ** 2;
        const off = e.progress - expected;
        this.mean = this.mean.map((m, i) => m + ph[i] / v * off);
        this.cov = this.cov.map((row, i) => row.map((x, j) => x - ph[i] * ph[j] / v));
      }
      return null;
    }
    drunk(day) {
      const h = this.seen(day), ph = this.times(h);
      const v = h.reduce((s, x, i) => s + x * ph[i], 0)
        + this.own() ** 2 * (this.c.walk[day] - this.c.walk[this.day]);
      return [this.mean.reduce((s, m, i) => s + m * h[i], 0), Math.sqrt(Math.max(v, 1e-12))];
    }
    progress(day) {
      const grown = this.c.growth[day];
      return [(1 + this.mean[2]) * grown,
        Math.sqrt(this.cov[2][2] * grown ** 2 + this.c.spread[day] ** 2 + 1e-12)];
    }
    dryBy(usable) {
      const out = [];
      let chance = 0;
      for (let day = this.day; day <= this.c.days; day++) {
        const [mean, sd] = this.drunk(day);
        chance = Math.max(chance, normal((mean - usable + 1e-9) / sd));
        out.push(chance);
      }
      return out;
    }
    readyOn() {
      for (let day = this.day; day <= this.c.days; day++)
        if (this.progress(day)[0] >= 1 - 1e-9) return day;
      return null;
    }
  }

  // Readings that disagree.
  function told(c, events, wrong, most) {
    const state = new Estimate(c);
    let score = 0, far = 0, at = -1;
    for (const e of events) {
      if (e.what !== "level") { state.take(e); continue; }
      at++;
      const what = wrong[at] || "right";
      score += Math.log(what === "right" ? RIGHT : ODDS[what]);
      if (what === "misread") { score -= Math.log(most); continue; }
      if (FLOWS[what]) state.take({what: "water", day: e.day, litres: FLOWS[what][0] * most,
        spread: FLOWS[what][1] * most});
      const [expected, spread] = state.read(e), off = (e.gone - expected) / spread;
      score -= Math.log(spread * Math.sqrt(2 * Math.PI)) + off * off / 2;
      far = Math.max(far, Math.abs(off));
    }
    return [state, score, far];
  }
  function estimated(c, events, most) {
    const count = events.filter(e => e.what === "level").length;
    let [found, score, far] = told(c, events, {}, most);
    const agreed = {state: found, out: [], suspect: null, odds: {}, states: [[1, found]]};
    if (far <= FAR_OFF) return agreed;
    const every = [];
    for (let i = 0; i < count; i++) for (const what of Object.keys(FLOWS)) every.push({[i]: what});
    for (let i = 0; i < count; i++) every.push({[i]: "misread"});
    for (let i = 0; i < count; i++) for (let j = i + 1; j < count; j++)
      every.push({[i]: "misread", [j]: "misread"});
    let best = null;
    for (const wrong of every) {
      const value = told(c, events, wrong, most)[1];
      if (value > score) { score = value; best = wrong; }
    }
    if (!best) return agreed;
    const suspect = Math.max(...Object.keys(best).map(Number));
    const each = ["right", "misread", "rained", "leaked"].map(what =>
      [what, ...told(c, events, {...best, [suspect]: what}, most)]);
    const weights = each.map(([what, state, value]) => [what, state, Math.exp(value - score)]);
    const total = weights.reduce((s, w) => s + w[2], 0);
    weights.sort((a, b) => b[2] - a[2]);
    const odds = {};
    for (const [what, , w] of weights) odds[what] = w / total;
    return {
      state: each.find(w => w[0] === best[suspect])[1], odds, suspect,
      out: Object.keys(best).filter(i => best[i] === "misread").map(Number),
      states: weights.map(([, state, w]) => [w / total, state]).filter(w => w[0] > 0.001),
    };
  }

  // Chances by day.
  function first(chances, wanted) {
    const at = chances.findIndex(x => x >= wanted);
    return at < 0 ? chances.length : at;
  }
  function nearest(chances, wanted) {
    const at = first(chances, wanted);
    if (at === chances.length) return null;
    return at && wanted - chances[at - 1] < chances[at] - wanted ? at - 1 : at;
  }
  function within(chances) {
    let low = nearest([0, ...chances], 0.05);
    const high = nearest(chances, 0.95);
    if (low !== null && low >= chances.length) low = null;
    return [low, high === null || low === null ? high : Math.max(low, high)];
  }

  // A batch on a day: from what stood when the file was made, and from what was written since.
  function follow(b, crop, on, mine) {
    if (b.over) return null;
    const base = b.base || {};
    let tr = base.tr ?? b.tr, plants = base.plants ?? b.plants;
    let picks = (base.picks || b.picks).map(p => [...p]), clear = b.clear;
    const moved = mine.find(e => e.what === "transplanted" && Math.abs(e.day - tr) <= MOST_SHIFTED);
    if (!b.base && !moved && tr >= on) return null;
    if (moved && !b.base) {
      const delay = moved.day - tr;
      tr = moved.day;
      if (moved.n) plants = moved.n;
      if (delay > 0 && picks.some(p => p[0] < on)) {
        picks = picks.map(p => [p[0] + delay, ...p.slice(1)]);
        clear += delay;
      }
    }
    const since = mine.filter(e => e.day >= tr && e.day <= on);
    if (since.some(e => e.what === "failed" || e.what === "cleared")) return null;
    const made = picks.slice(0, base.done || 0);
    let open = picks.slice(base.done || 0);
    const days = new Map();
    for (const e of since) if (e.what === "picked") {
      const now = days.get(e.day) || {};
      if (e.unit === "plants") now.n = e.n; else now.grams = e.n;
      days.set(e.day, now);
    }
    const logged = [...days.keys()].sort((x, y) => x - y);
    for (const day of logged) {
      const near = open.reduce((best, p) => best === null
        || Math.abs(p[0] - day) < Math.abs(best[0] - day) ? p : best, null);
      if (near && Math.abs(near[0] - day) <= SAME_PICK) open = open.filter(p => p !== near);
    }
    let guessed = open.filter(p => p[0] < on);
    open = open.filter(p => p[0] >= on);
    const count = ps => ps.reduce((s, p) => s + p[1], 0);
    const near7 = day => b.picks.find(p => Math.abs(p[0] - day) <= 7);
    function taken(day) {
      if (crop.cuts > 1) return [day, plants, 0, false];
      const {n, grams} = days.get(day), standing = plants - count(made), near = near7(day);
      if (n !== undefined) return [day, n, 0, false];
      const guess = near ? near[1] : grams === undefined ? standing : round(grams / crop.fresh_mass);
      return [day, Math.min(grams === undefined ? guess : Math.max(guess, 1), standing), 0, false];
    }
    if (crop.cuts > 1) {
      guessed = guessed.slice(0, Math.max(crop.cuts - made.length - logged.length, 0));
    } else {
      const room = plants - count(made) - logged.reduce((s, d) => s + (days.get(d).n || 1), 0);
      while (guessed.length && count(guessed) > Math.max(room, 0)) guessed.pop();
    }
    const then = [...logged.map(day => [day, null]), ...guessed.map(p => [p[0], p])];
    for (const [day, p] of then.sort((x, y) => x[0] - y[0])) made.push(p || taken(day));
    if (crop.cuts > 1) {
      open = open.slice(0, Math.max(crop.cuts - made.length, 0));
    } else {
      let left = plants - count(made);
      const fit = [];
      for (const p of open) {
        const n = Math.min(p[1], left);
        if (n > 0) { fit.push([p[0], n, 0, p[3]]); left -= n; }
      }
      if (left > 0 && fit.length) fit[fit.length - 1][1] += left;
      else if (left > 0)
        fit.push([Math.max(...b.picks.map(p => p[0]), ...logged), left, 0, false]);
      open = fit;
    }
    const left = plants - count(made);
    const spent = made.length > 0 && (crop.cuts === 1 ? left <= 0 : open.length === 0);
    if (spent && clear < on) return null;
    const readings = [...(base.readings || [])];
    for (const e of since) if (e.what === "level") readings.push([e.day, e.litres, 1e6]);
    return {id: b.id, crop: b.crop, tr, plants, left, picks: [...made, ...open], done: made.length,
      spent, readings, water: base.water || [], changes: base.changes || [],
      sights: base.sights || [], fewer: base.fewer || []};
  }

  function drinking(f, crop) {
    const days = [...f.fewer, ...f.changes, ...f.picks].map(x => x[0] - f.tr);
    const n = Math.max(Math.max(...days) + 1, 1);
    const out = new Array(n).fill(f.plants + f.fewer.reduce((s, x) => s + x[1], 0));
    for (const [day, lost] of f.fewer)
      for (let d = Math.max(day - f.tr, 0); d < n; d++) out[d] -= lost;
    for (const p of f.picks.slice(0, -1))
      for (let d = Math.max(p[0] - f.tr, 0); d < n; d++)
        out[d] = crop.cuts > 1 ? Math.min(out[d], f.plants * crop.after_cut)
          : Math.max(out[d] - p[1], 0);
    let start = null;
    const shade = (from, to) => { for (let d = from; d < to; d++) out[d] *= IN_SHADE; };
    for (const [day, what] of [...f.changes].sort((x, y) => x[0] - y[0] || x[2] - y[2])) {
      const at = Math.max(day - f.tr, 0);
      if (what === "shaded" && start === null) start = at;
      else if ((what === "uncovered" || what === "moved") && start !== null) {
        shade(start, Math.min(at, n)); start = null;
      }
    }
    if (start !== null) shade(start, n);
    return out;
  }

  function eventsOf(f, vessel, days, on) {
    const found = [], byDay = new Map();
    const add = (day, line, e) => {
      e.day = day - f.tr;
      if (day <= on && e.day >= 0 && e.day <= days) found.push([e.day, line, e]);
    };
    for (const r of f.readings) if (r[0] <= on) byDay.set(r[0], r);
    for (const [day, litres, line] of byDay.values()) if (day > f.tr)
      add(day, line, {what: "level", gone: vessel.fill - litres, error: rulerError(vessel, litres)});
    for (const [day, litres, spread, line] of f.water) add(day, line, {what: "water", litres, spread});
    for (const [day, what, line] of f.changes) add(day, line, {what: "shift", spread: SHIFTS[what]});
    for (const [day, progress, spread, least, line] of f.sights)
      add(day, line, {what: "grown", progress, spread, least});
    return found.sort((x, y) => x[0] - y[0] || x[1] - y[1]).map(x => x[2]);
  }

  function massAt(kind, progress) {
    for (let d = 1; d < kind.growth.length; d++) {
      const below = kind.growth[d - 1], above = kind.growth[d];
      if (above >= progress) {
        const part = above > below ? (progress - below) / (above - below) : 1;
        return kind.mass[d - 1] + Math.max(part, 0) * (kind.mass[d] - kind.mass[d - 1]);
      }
    }
    return kind.mass[kind.mass.length - 1];
  }

  // `data`: crops, vessels, kinds, workDay(day). Null where nothing is left to pick or foretold.
  function judge(data, b, f, on) {
    const known = data.table[b.id], crop = data.crops[b.crop], ahead = f.picks.slice(f.done);
    if (!known || !ahead.length || f.spent) return null;
    const kind = data.kinds[known[0]], today = on - f.tr;
    if (Math.abs(f.tr - known[1]) > MOST_SHIFTED || today < 0 || today > kind.drinks.length)
      return null;
    const vessel = data.vessels[b.vessel], c = course(kind, drinking(f, crop));
    const seen = eventsOf(f, vessel, c.days, on);
    const found = estimated(c, seen, vessel.fill), state = found.state;
    const usable = vessel.fill - vessel.floor, end = ahead[ahead.length - 1][0];
    const last = Math.max(end, on);
    let chances = [];
    for (const [share, s] of found.states) {
      const all = s.dryBy(usable).slice(Math.max(today - s.day, 0));
      chances = chances.length ? chances.slice(0, all.length).map((x, i) => x + share * all[i])
        : all.map(x => share * x);
    }
    const chance = chances[Math.min(last - on, chances.length - 1)];
    const [from, to] = within(chances), middle = first(chances, 0.5);
    let verdict = chance >= WORTH_TELLING ? "close" : "calm";
    if (chances[0] >= 0.5) verdict = "dry";
    else if (chance >= (from === null || from >= TIME_LEFT ? SURELY : ALARMING)) verdict = "alarm";
    const ripe = state.progress(Math.max(today, state.day))[0] >= 1 - 1e-9
      || (crop.cuts > 1 && f.done > 0);
    const ready = state.readyOn();
    let pick = null;
    if (verdict === "dry" || verdict === "alarm") {
      const latest = end >= on ? Math.min(last, end) : on;
      pick = on;
      for (let day = on; day <= latest && day - on < chances.length; day++) {
        if (chances[day - on] > EARLY) break;
        if (data.workDay(day)) pick = day;
      }
    }
    const left = crop.cuts === 1 ? f.left : f.plants;
    const shares = crop.cuts > 1 ? crop.cut_shares[Math.min(f.done, crop.cut_shares.length - 1)] : 1;
    let grown = 1;
    if (!(crop.cuts > 1 && f.done)) {
      const at = Math.max(Math.min((pick ?? last) - f.tr, c.days), state.day);
      grown = massAt(kind, state.progress(at)[0]);
    }
    const days = seen.filter(e => e.what === "level").map(e => f.tr + e.day);
    const unfit = i => found.out.includes(i) || found.suspect === i;
    const day = d => d === null || d >= chances.length ? null : on + d;
    return {
      verdict, chance, dry: day(middle), dry_from: day(from), dry_to: day(to),
      ready: ready === null ? null : f.tr + ready, ripe, last, pick,
      grams: round(left * crop.fresh_mass * shares * grown), heads: left,
      readings: days.filter((d, i) => !unfit(i)), left_out: days.filter((d, i) => unfit(i)),
      litres: Math.max(vessel.fill - state.drunk(Math.max(today, state.day))[0], 0),
      odds: found.odds,
    };
  }

  return {judge, follow, volume, depth, normal};
})();
