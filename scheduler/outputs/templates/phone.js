"use strict";
// The page on a phone: the day's work, levels, picks, notes, and the log as text to hand on.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const say = data.say, $ = id => document.getElementById(id);
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, k) => values[k] ?? whole);
  const el = (tag, text, cls) => {
    const e = document.createElement(tag);
    if (text !== undefined) e.textContent = text;
    if (cls) e.className = cls;
    return e;
  };
  for (const k of data.kinds) {
    for (const [name, unit] of Object.entries(data.wholes)) k[name] = k[name].map(v => v * unit);
  }
  data.workDay = day => data.work.includes((day + 3) % 7) && day >= data.start && day <= data.end
    && !data.away.some(([first, last]) => first <= day && day <= last);

  // Days and amounts as the grower reads them.
  const iso = day => new Date(day * 864e5).toISOString().slice(0, 10);
  const dayOf = text => Math.round(Date.parse(text + "T00:00:00Z") / 864e5);
  const shortDate = day => {
    const d = new Date(day * 864e5);
    return fill(say.date, {day: d.getUTCDate(), month: data.months[d.getUTCMonth()]});
  };
  const number = (x, digits) => x.toFixed(digits).replace(".", data.decimal);
  function depthText(cm) {
    if (!data.us) return `${number(cm, 1)} cm`;
    const eighths = Math.round(cm / 2.54 * 8), whole = Math.floor(eighths / 8);
    return `${inches(whole, eighths % 8)} in`;
  }
  function inches(whole, eighths) {
    if (!eighths) return `${whole}`;
    const g = eighths % 4 === 0 ? 4 : eighths % 2 === 0 ? 2 : 1;
    const part = `${eighths / g}/${8 / g}`;
    return whole ? `${whole} ${part}` : part;
  }
  function massText(g) {
    if (data.us) {
      const oz = g / 28.349523125;
      return oz < 15.95 ? `${number(oz, 1)} oz` : `${number(oz / 16, 2)} lb`;
    }
    return Math.round(g) < 1000 ? `${Math.round(g)} g` : `${number(g / 1000, 2)} kg`;
  }
  const label = (column, tier) => tier === null ? column : `${column} ${tier}`;

  // What is written: entries by what they tell of, so that a second one mends the first.
  // [day, what, column, tier, amount, unit, crop, note]
  const STORE = `dryline ${data.name} ${iso(data.start)}`;
  let entries = new Map(), kept = false;
  const key = e => JSON.stringify([e[0], e[1], e[2], e[3], e[6], e[1] === "picked" ? e[5] : "",
    e[1] === "note" ? e[7] : ""]);
  function storage() {
    try {
      const s = window.localStorage, probe = `${STORE} probe`;
      s.setItem(probe, "1");
      const good = s.getItem(probe) === "1";
      s.removeItem(probe);
      return good ? s : null;
    } catch (e) { return null; }
  }
  const packed = () => JSON.stringify([...entries.values()]);
  function take(text) {
    try {
      for (const e of JSON.parse(text)) if (Array.isArray(e) && e.length === 8) entries.set(key(e), e);
    } catch (e) { /* spoilt: what else is there stays */ }
  }
  function load() {
    const s = storage();
    kept = s !== null;
    const hash = location.hash.slice(1);
    if (hash) take(decodeURIComponent(hash));
    if (s) take(s.getItem(STORE) || "[]");
    $("kept").textContent = kept ? say.kept : say.refused;
    if (hash && kept) keep();
  }
  function keep() {
    const s = kept ? storage() : null;
    let good = false;
    try {
      if (s) { s.setItem(STORE, packed()); good = s.getItem(STORE) === packed(); }
    } catch (e) { good = false; }
    if (!good) {
      kept = false;
      $("kept").textContent = say.refused;
      const there = `#${encodeURIComponent(packed())}`;
      try { history.replaceState(null, "", there); } catch (e) { location.hash = there; }
    } else if (location.hash) {
      try { history.replaceState(null, "", location.pathname + location.search); } catch (e) { }
    }
  }
  function put(e) { entries.set(key(e), e); keep(); draw(); }
  function strike(e) { entries.delete(key(e)); keep(); draw(); }

  // As words for the log.
  const quoted = text => /^[\w.\/:-]+$/.test(text) ? text : `'${text.replace(/'/g, "'\"'\"'")}'`;
  function words(e) {
    const [day, what, column, tier, amount, unit, crop, note] = e;
    const parts = [iso(day), what];
    if (column) parts.push(quoted(column));
    if (tier !== null) parts.push(`${tier}`);
    if (amount) parts.push(amount);
    if (unit) parts.push(unit);
    if (crop) parts.push("--crop", quoted(crop));
    if (note) parts.push("--note", quoted(note));
    return parts.join(" ");
  }
  const inLog = () => [...entries.values()].filter(e => e[1] !== "#")
    .sort((x, y) => x[0] - y[0] || (words(x) < words(y) ? -1 : 1));

  // An entry as the arithmetic takes it.
  function number8(text) {
    return text.trim().split(/\s+/).reduce((s, p) => {
      const [a, b] = p.split("/").map(Number);
      return s + (b ? a / b : a);
    }, 0);
  }
  function mine(b) {
    return [...entries.values()].filter(e => e[2] === b.column && (e[3] === b.tier || e[3] === null))
      .map(e => {
        const out = {day: e[0], what: e[1], unit: e[5], n: e[4] ? number8(e[4]) : undefined};
        if (e[1] === "level") {
          const cm = e[5] === "in" ? out.n * 2.54 : out.n;
          out.litres = Watch.volume(data.vessels[b.vessel], cm);
        }
        if (e[1] === "picked" && e[5] === "oz") out.n *= 28.349523125;
        return out;
      });
  }
  function standing(on) {
    const out = [];
    for (const b of data.batches) {
      const f = Watch.follow(b, data.crops[b.crop], on, mine(b));
      if (f && !f.spent) out.push([b, f]);
    }
    return out;
  }

  // Sentences, as the log says them.
  function around(w) {
    if (w.dry === null) return "";
    const from = w.dry_from === null || w.dry_from > w.dry ? w.dry : w.dry_from, to = w.dry_to;
    const date = shortDate(w.dry);
    if (to === null) return fill(say.from_on, {date, first: shortDate(from)});
    if (from === to) return date;
    const month = day => iso(day).slice(0, 7), dom = day => Number(iso(day).slice(8));
    if (month(from) === month(to) && month(to) === month(w.dry))
      return fill(say.from_to, {date, first: dom(from), last: dom(to)});
    return fill(say.between, {date, first: shortDate(from), last: shortDate(to)});
  }
  function sentence(b, w, on) {
    const tier = label(b.column, b.tier), crop = data.crops[b.crop], last = shortDate(w.last);
    const mass = crop.cuts > 1 ? fill(say.mass, {mass: massText(w.grams)})
      : fill(say.mass_head, {mass: massText(Math.round(w.grams / Math.max(w.heads, 1)))});
    const pick = w.pick === null || w.pick <= on ? fill(say.pick_today, {mass})
      : fill(say.pick_on, {date: shortDate(w.pick), mass});
    let text;
    if (w.verdict === "alarm") {
      text = w.dry === null ? fill(say.may_dry, {tier, last})
        : fill(say.will_dry, {tier, dry: around(w)});
      text += w.ripe ? say.ripe : w.ready !== null ? fill(say.ready, {date: shortDate(w.ready)})
        : say.not_ready;
      text = `${text}: ${pick}` + (w.ripe ? "." : say.or_shade);
    } else if (w.verdict === "dry") text = fill(say.dry, {tier, then: pick});
    else if (w.verdict === "close") text = w.dry === null ? fill(say.close_open, {tier, last})
      : fill(say.close, {tier, dry: around(w), last});
    else text = w.dry === null ? fill(say.calm_open, {tier, last})
      : fill(say.calm, {tier, dry: around(w), last});
    if (w.left_out.length) {
      const reasons = Object.entries(w.odds).filter(([, p], n) => n < 2 || p >= 0.05)
        .map(([what, p]) => fill(say.reason, {reason: say[what],
          share: Math.max(Math.round(100 * p), 1)})).join(say.or);
      text += " " + fill(say.unfit, {date: w.left_out.map(shortDate).join(", "), reasons});
      if (Math.max(...w.left_out) > Math.max(-1, ...w.readings)) text += " " + say.again;
    }
    return text;
  }

  // The day shown.
  let on = 0, whole = "", eighths = 0, tiers = [];
  const bound = day => Math.min(Math.max(day, data.start), data.end);
  function now() {
    const d = new Date();
    return bound(Math.round(Date.UTC(d.getFullYear(), d.getMonth(), d.getDate()) / 864e5));
  }
  function show(day) {
    on = bound(day);
    $("day").value = iso(on);
    draw();
  }
  function draw() {
    tiers = standing(on);
    const watched = tiers.map(([b, f]) => [b, Watch.judge(data, b, f, on)]).filter(w => w[1]);
    const order = ["dry", "alarm", "close", "calm"], list = $("foretold");
    const loud = watched.filter(([b, w]) => w.verdict !== "calm" && (w.readings.length || w.left_out.length));
    loud.sort((x, y) => order.indexOf(x[1].verdict) - order.indexOf(y[1].verdict)
      || (x[1].dry ?? 1e9) - (y[1].dry ?? 1e9) || y[1].chance - x[1].chance);
    list.replaceChildren(...(loud.length ? loud.map(([b, w]) => el("li", sentence(b, w, on), w.verdict))
      : [el("li", say.quiet)]));
    const day = data.days[on] || {lines: [], levels: [], beside: []}, todo = $("todo");
    const rows = day.lines.map((line, n) => {
      const li = el("li"), l = el("label"), box = el("input");
      box.type = "checkbox";
      const meant = line.items.length ? line.items.map(i => [on, ...i]) : [[on, "#", line.verb, n, "", "", "", ""]];
      box.checked = meant.every(e => entries.has(key(e)));
      box.addEventListener("change", () => {
        for (const e of meant) if (box.checked) entries.set(key(e), e); else entries.delete(key(e));
        keep(); draw();
      });
      const text = el("span");
      text.append(el("b", line.verb), " " + line.text);
      l.append(box, text);
      li.append(l);
      return li;
    });
    for (const text of day.beside) rows.push(el("li", text));
    const unread = day.levels.filter(l => !entries.has(key([on, "level", l[0], l[1], "", "", "", ""])));
    if (unread.length)
      rows.unshift(el("li", fill(say.levels, {tiers: unread.map(l => label(l[0], l[1])).join(", ")})));
    todo.replaceChildren(...(rows.length ? rows : [el("li", say.nothing)]));
    choose($("tier"), tiers.map(([b]) => b), day.levels);
    choose($("from"), tiers.map(([b]) => b), []);
    expected(day, watched);
    const written = inLog();
    $("log").replaceChildren(...(written.length ? written.map(e => {
      const li = el("li"), b = el("button", say.strike);
      b.type = "button";
      b.setAttribute("aria-label", `${say.strike}: ${words(e)}`);
      b.addEventListener("click", () => strike(e));
      li.append(el("span", words(e)), b);
      return li;
    }) : [el("li", say.empty)]));
    $("out").value = written.map(e => words(e) + "\n").join("");
  }
  function choose(select, batches, due) {
    const before = select.value, wanted = new Set(due.map(l => label(l[0], l[1])));
    const names = batches.map(b => label(b.column, b.tier));
    names.sort((x, y) => wanted.has(y) - wanted.has(x));
    select.replaceChildren(...[...new Set(names)].map(n => {
      const o = el("option", wanted.has(n) ? `${n} ${say.due}` : n);
      o.value = n;
      return o;
    }));
    if (names.includes(before)) select.value = before;
  }
  const chosen = select => (tiers.find(([b]) => label(b.column, b.tier) === select.value) || [])[0];
  function expected(day, watched) {
    const b = chosen($("tier")), parts = [];
    const known = b && watched.find(([x]) => x.id === b.id);
    if (known) parts.push(fill(say.expect, {depth: depthText(Watch.depth(data.vessels[b.vessel], known[1].litres))}));
    const l = b && day.levels.find(x => x[0] === b.column && x[1] === b.tier);
    if (l && l[2] !== null) parts.push(fill(say.act, {depth: depthText(l[2])}));
    $("due").textContent = parts.join("; ");
  }
  function typed() {
    const part = data.us ? inches(Number(whole || 0), eighths)
      : `${whole || 0}${data.decimal}${eighths ? 5 : 0}`;
    $("shown").textContent = whole || eighths ? `${part} ${data.us ? "in" : "cm"}` : "";
    for (const b of $("keys").querySelectorAll("[data-part]"))
      b.setAttribute("aria-pressed", String(Number(b.dataset.part) === eighths));
  }
  function keypad() {
    const press = (text, name, act) => {
      const b = el("button", text);
      b.type = "button";
      if (name) b.setAttribute("aria-label", name);
      b.addEventListener("click", () => { act(); typed(); });
      $("keys").append(b);
      return b;
    };
    for (const n of "1234567890") press(n, "", () => { if (whole.length < 2) whole = String(Number(whole + n)); });
    press("\u232b", say.back, () => { if (eighths) eighths = 0; else whole = whole.slice(0, -1); });
    const parts = data.us ? [0, 1, 2, 3, 4, 5, 6, 7] : [0, 4];
    for (const p of parts) {
      const name = data.us ? (p ? inches(0, p) : "0/8") : `${data.decimal}${p ? 5 : 0}`;
      press(name, "", () => { eighths = p; }).dataset.part = p;
    }
    typed();
  }
  function write() {
    const b = chosen($("tier"));
    if (!b || (!whole && !eighths)) return;
    const amount = data.us ? inches(Number(whole || 0), eighths) : `${whole || 0}.${eighths ? 5 : 0}`;
    const unit = data.us ? "in" : "cm", v = data.vessels[b.vessel];
    const cm = number8(amount) * (data.us ? 2.54 : 1), full = Watch.depth(v, v.fill);
    if (cm > full + 0.32) {
      $("answer").textContent = fill(say.too_high, {depth: depthText(full)});
      return;
    }
    put([on, "level", b.column, b.tier, amount, unit, "", ""]);
    const f = Watch.follow(b, data.crops[b.crop], on, mine(b));
    const w = f && Watch.judge(data, b, f, on);
    $("answer").textContent = w ? sentence(b, w, on) : say.written;
    whole = ""; eighths = 0; typed();
  }
  function picked() {
    const b = chosen($("from"));
    const n = $("plants").value.trim(), m = $("mass").value.trim().replace(",", ".");
    if (!b || (!n && !m)) return;
    if ((n && !/^[1-9]\d{0,3}$/.test(n)) || (m && !(Number(m) > 0))) {
      $("picked-said").textContent = say.number;
      return;
    }
    if (n) put([on, "picked", b.column, b.tier, n, "plants", "", ""]);
    if (m) put([on, "picked", b.column, b.tier, m, data.us ? "oz" : "g", "", ""]);
    $("plants").value = $("mass").value = "";
    $("picked-said").textContent = say.written;
  }
  function noted() {
    const text = $("note").value.replace(/\s+/g, " ").trim();
    if (!text) return;
    put([on, "note", "", null, "", "", "", text]);
    $("note").value = "";
  }

  $("before").addEventListener("click", () => show(on - 1));
  $("after").addEventListener("click", () => show(on + 1));
  $("today").addEventListener("click", () => show(now()));
  $("day").addEventListener("change", () => { if ($("day").value) show(dayOf($("day").value)); });
  $("tier").addEventListener("change", draw);
  $("write").addEventListener("click", write);
  $("picked").addEventListener("click", picked);
  $("noted").addEventListener("click", noted);
  $("copy").addEventListener("click", async () => {
    const box = $("out");
    box.focus(); box.select();
    let good = false;
    try { await navigator.clipboard.writeText(box.value); good = true; } catch (e) {
      try { good = document.execCommand("copy"); } catch (e2) { good = false; }
    }
    $("handed").textContent = good ? say.copied : say.not_copied;
  });
  $("save").addEventListener("click", () => {
    const a = el("a");
    a.href = URL.createObjectURL(new Blob([$("out").value], {type: "text/plain"}));
    a.download = "log.txt";
    a.click();
  });
  window.addEventListener("hashchange", () => { load(); draw(); });
  load();
  keypad();
  show(now());
  window.dryline = {data, Watch, mine, show, sentence};
})();
