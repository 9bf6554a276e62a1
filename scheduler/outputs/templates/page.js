"use strict";
(function () {
  var weeks = Array.from(document.querySelectorAll(".wk"));
  var days = Array.from(document.querySelectorAll("#weeks .day"));
  var pick = document.getElementById("pick-week"), col = document.getElementById("pick-column");
  var back = document.getElementById("back"), on = document.getElementById("on");
  var kinds = Array.from(document.querySelectorAll("[name=kind]"));
  var count = document.getElementById("count"), words = count.dataset;
  var todayBox = document.getElementById("today-work"), when = document.getElementById("when");
  document.querySelectorAll(".js").forEach(function (e) { e.hidden = false; });

  function iso(d) {
    return d.getFullYear() + "-" + String(d.getMonth() + 1).padStart(2, "0") + "-" +
      String(d.getDate()).padStart(2, "0");
  }
  function fill(text, n) { return text.replace("{n}", n); }

  /* Ticks are kept in this browser only; without storage they last as long as the page. */
  var key = document.body.dataset.key, ticks = {};
  try { ticks = JSON.parse(localStorage.getItem("dryline " + key)) || {}; } catch (e) { ticks = {}; }
  function showTicks(root) {
    root.querySelectorAll("[data-t]").forEach(function (b) { b.checked = !!ticks[b.dataset.t]; });
  }
  document.addEventListener("change", function (e) {
    var t = e.target.dataset && e.target.dataset.t;
    if (!t) return;
    if (e.target.checked) ticks[t] = 1; else delete ticks[t];
    document.querySelectorAll("[data-t]").forEach(function (b) {
      if (b.dataset.t === t) b.checked = e.target.checked;
    });
    try { localStorage.setItem("dryline " + key, JSON.stringify(ticks)); } catch (err) { return; }
  });

  /* Today, or the next day with work. */
  function showDay(day) {
    var found = days.find(function (d) { return d.dataset.date >= day; });
    todayBox.textContent = "";
    var head = document.getElementById("today-says");
    if (!found) { head.textContent = words.over; return; }
    head.textContent = found.dataset.date === day ? words.today : words.next;
    var copy = found.cloneNode(true);
    copy.querySelectorAll("[hidden]").forEach(function (e) { e.hidden = false; });
    copy.hidden = false;
    todayBox.appendChild(copy);
    showTicks(todayBox);
  }
  when.addEventListener("change", function () { if (when.value) showDay(when.value); });

  /* The week shown, by kind of work and by column. */
  function show() {
    var wanted = kinds.filter(function (b) { return b.checked; }).map(function (b) { return b.value; });
    var n = 0;
    weeks.forEach(function (w) {
      w.hidden = pick.value !== "all" && w.dataset.week !== pick.value;
      w.querySelectorAll(".day").forEach(function (d) {
        var left = new Set();
        d.querySelectorAll("[data-k]").forEach(function (li) {
          li.hidden = wanted.indexOf(li.dataset.k) < 0 ||
            (col.value !== "" && li.dataset.c !== col.value);
          if (!li.hidden) { left.add(li.dataset.k); if (!w.hidden) n += 1; }
        });
        d.hidden = left.size === 0;
        var levels = d.querySelector(".lvh");
        if (levels) levels.hidden = !left.has("level");
        d.querySelectorAll("[data-care]").forEach(function (p) {
          p.hidden = !p.dataset.care.split(" ").some(function (k) { return left.has(k); });
        });
      });
    });
    count.textContent = n ? fill(n === 1 ? words.one : words.many, n) : words.none;
    back.disabled = pick.selectedIndex <= 1;
    on.disabled = pick.value === "all" || pick.selectedIndex === pick.options.length - 1;
  }
  function step(by) {
    pick.selectedIndex = Math.min(Math.max(pick.selectedIndex + by, 1), pick.options.length - 1);
    show();
  }
  back.addEventListener("click", function () { step(-1); });
  on.addEventListener("click", function () { step(1); });
  [pick, col].concat(kinds).forEach(function (e) { e.addEventListener("change", show); });

  var now = iso(new Date());
  when.value = now;
  var next = days.find(function (d) { return d.dataset.date >= now; }) || days[0];
  if (next) pick.value = next.closest(".wk").dataset.week;
  else if (weeks.length) pick.value = weeks[0].dataset.week;
  showDay(now);
  showTicks(document);
  show();
})();
