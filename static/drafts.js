/* Drafts of forms, kept in this browser until they are saved. The forms work
   without this script; it never sends anything (waiting.js does). Values only, no names or codes
   of people: the forms ask for none. */
(function () {
  "use strict";
  var PREFIX = "reddside.draft.";
  var SENT = "reddside.sent";
  var WEEK = 7 * 24 * 3600 * 1000;
  var WAIT = 400; // ms after the last key

  // Storage may be absent, blocked or full: then every call answers null or false.
  function read(store, key) {
    try { return window[store].getItem(key); } catch (e) { return null; }
  }
  function write(store, key, value) {
    try { window[store].setItem(key, value); return true; } catch (e) { return false; }
  }
  function drop(store, key) {
    try { window[store].removeItem(key); } catch (e) { /* nothing to drop */ }
  }
  function draftKeys() {
    var out = [];
    try {
      for (var i = 0; i < window.localStorage.length; i++) {
        var k = window.localStorage.key(i);
        if (k && k.indexOf(PREFIX) === 0) { out.push(k); }
      }
    } catch (e) { /* none */ }
    return out;
  }
  function parse(text) {
    try { var d = JSON.parse(text); return d && d.at && d.fields ? d : null; } catch (e) { return null; }
  }
  function dropOld() {
    draftKeys().forEach(function (k) {
      var d = parse(read("localStorage", k));
      if (!d || Date.now() - d.at > WEEK) { drop("localStorage", k); }
    });
  }

  function inputs(form) {
    return Array.prototype.filter.call(form.elements, function (el) {
      return el.name && el.type !== "hidden" && el.type !== "submit" && el.type !== "button" && el.type !== "password" && el.name !== "confirm";
    });
  }
  function collect(form) {
    var fields = {};
    inputs(form).forEach(function (el) {
      if (el.type === "radio" || el.type === "checkbox") {
        if (el.checked) { fields[el.name] = el.value; }
      } else if (el.value !== "") {
        fields[el.name] = el.value;
      }
    });
    return fields;
  }
  function fill(form, fields) {
    inputs(form).forEach(function (el) {
      var has = Object.prototype.hasOwnProperty.call(fields, el.name);
      if (el.type === "radio" || el.type === "checkbox") {
        el.checked = has && el.value === fields[el.name];
      } else {
        el.value = has ? fields[el.name] : "";
      }
      if (has && el.value !== "") {
        var fold = el.closest("details");
        if (fold && (el.type !== "radio" || el.checked)) { fold.open = true; }
      }
    });
  }
  function same(a, b) { return JSON.stringify(a, Object.keys(a).sort()) === JSON.stringify(b, Object.keys(b).sort()); }

  function clock(at) {
    var d = new Date(at);
    function two(n) { return (n < 10 ? "0" : "") + n; }
    var time = two(d.getHours()) + ":" + two(d.getMinutes());
    if (new Date().toDateString() === d.toDateString()) { return time; }
    return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()) + " " + time;
  }

  function drafts(form) {
    var key = PREFIX + form.getAttribute("data-draft");
    var empty = collect(form);
    var banner = document.querySelector("[data-draft-banner]");
    var timer = 0;

    function notKept() {
      var off = document.querySelector("[data-draft-off]");
      if (off) { off.hidden = false; }
    }
    if (!write("localStorage", PREFIX + "probe", "1")) { notKept(); return; }
    drop("localStorage", PREFIX + "probe");

    function save() {
      window.clearTimeout(timer);
      timer = 0;
      var fields = collect(form);
      if (same(fields, empty)) { drop("localStorage", key); return; }
      // Storage may be full by now: an older draft would be worse than none.
      if (!write("localStorage", key, JSON.stringify({ at: Date.now(), fields: fields }))) { drop("localStorage", key); notKept(); }
    }
    function later() {
      window.clearTimeout(timer);
      timer = window.setTimeout(save, WAIT);
    }

    var draft = parse(read("localStorage", key));
    // A draft is offered once: what was neither kept nor changed then is gone, unless
    // the page was only loaded again.
    if (draft && draft.offered && !again()) {
      drop("localStorage", key);
      draft = null;
    }
    // A form that came back with problems already holds what was sent.
    if (draft && !form.hasAttribute("data-posted") && !same(draft.fields, empty)) {
      fill(form, draft.fields);
      draft.offered = true;
      write("localStorage", key, JSON.stringify(draft));
      if (banner) {
        banner.querySelector("[data-draft-time]").textContent = clock(draft.at);
        banner.hidden = false;
        banner.querySelector("[data-draft-keep]").addEventListener("click", function () { save(); banner.hidden = true; });
        banner.querySelector("[data-draft-discard]").addEventListener("click", function () {
          window.clearTimeout(timer);
          timer = 0;
          drop("localStorage", key);
          fill(form, empty);
          banner.hidden = true;
        });
      }
    }
    form.addEventListener("input", later);
    form.addEventListener("change", later);
    window.addEventListener("pagehide", function () { if (timer) { save(); } });
    form.addEventListener("submit", function () {
      save();
      // The next page tells whether it was saved; until then the draft stays.
      write("sessionStorage", SENT, key);
    });
    // Whoever leaves without saving wants nothing kept.
    each("[data-leave]", function (a) {
      a.addEventListener("click", function () {
        window.clearTimeout(timer);
        timer = 0;
        drop("localStorage", key);
        drop("sessionStorage", SENT);
      });
    });
    // The server cannot be reached: the entry waits, so that no draft is needed.
    form.addEventListener("reddside-waits", function (ev) {
      if (!ev.detail.kept) { return; }
      drop("localStorage", key);
      drop("sessionStorage", SENT);
    });
  }

  function again() {
    var load = window.performance && performance.getEntriesByType && performance.getEntriesByType("navigation")[0];
    return !!load && load.type !== "navigate";
  }

  // "All running" and an answer that says otherwise do not go together: the later
  // one counts.
  function allRunning(all) {
    all.form.addEventListener("change", function (ev) {
      var el = ev.target;
      if (/^(chiller|filter|air_pump)$/.test(el.name) && el.checked && el.value !== "running") { all.checked = false; }
      if (el !== all || !all.checked) { return; }
      each('input[name="chiller"]:checked, input[name="filter"]:checked, input[name="air_pump"]:checked', function (x) {
        if (x.value !== "running") { x.checked = false; }
      });
    });
  }

  // A page of a stored entry means that the form sent before it was saved.
  function settle() {
    var sent = read("sessionStorage", SENT);
    if (!sent) { return; }
    if (document.querySelector("[data-stored]")) {
      drop("localStorage", sent);
      drop("sessionStorage", SENT);
    }
  }

  // A second tap within ten seconds does nothing. The button stays enabled, so
  // that its name is sent and a lost connection can be tried again.
  function once(form) {
    var sentAt = 0;
    form.addEventListener("submit", function (ev) {
      if (Date.now() - sentAt < 10000) { ev.preventDefault(); ev.stopImmediatePropagation(); return; }
      sentAt = Date.now();
      form.setAttribute("aria-busy", "true");
    });
    function again() { sentAt = 0; form.removeAttribute("aria-busy"); }
    window.addEventListener("pageshow", again);
    form.addEventListener("reddside-waits", again);
  }

  // Typing a date chooses the tile it belongs to.
  function chooser(el) {
    el.addEventListener("input", function () {
      if (!el.value || !el.form) { return; }
      var tile = el.form.querySelector('input[type="radio"][name="' + el.getAttribute("data-chooses") + '"][value="other"]');
      if (tile) { tile.checked = true; }
    });
  }

  // A picture that was taken is sent at once: the button is for who has no scripts.
  function sends(el) {
    var button = el.form.querySelector("[data-sends-button]");
    if (button) { button.hidden = true; }
    el.form.classList.add("live");
    el.addEventListener("change", function () { if (el.files.length) { el.form.submit(); } });
  }

  function signOut(form) {
    form.addEventListener("submit", function () {
      draftKeys().forEach(function (k) { drop("localStorage", k); });
      drop("sessionStorage", SENT);
    });
  }

  // What is typed goes along when the language or the unit is switched: the page
  // is loaded anew, and the form of the same address is filled again.
  var CARRY = "reddside.carry";
  function formOf(action) {
    return Array.prototype.filter.call(document.querySelectorAll("main form"), function (f) {
      return f.getAttribute("action") === action && f.method === "post";
    })[0];
  }
  function carry(switcher) {
    switcher.addEventListener("submit", function () {
      var form = document.querySelector('main form[method="post"]:not([data-draft])');
      Array.prototype.forEach.call(document.querySelectorAll('main form[method="post"]'), function (f) {
        if (inputs(f).length > inputs(form || f).length) { form = f; }
      });
      if (!form) { return; }
      write("sessionStorage", CARRY, JSON.stringify({ at: Date.now(), action: form.getAttribute("action"), fields: collect(form) }));
    });
  }
  function unpack() {
    var kept = parse(read("sessionStorage", CARRY));
    drop("sessionStorage", CARRY);
    var form = kept && Date.now() - kept.at < 60000 && formOf(kept.action);
    if (form) { fill(form, kept.fields); }
  }

  // The foot of printed sheets names the page and the day.
  function printFoot() {
    var day = new Date();
    try { day = day.toLocaleDateString(document.documentElement.lang.replace(/^en$/, "en-GB"), { day: "numeric", month: "long", year: "numeric" }); } catch (x) { day = clock(day); }
    document.documentElement.style.setProperty("--print-foot", JSON.stringify(document.title + ", " + day));
  }

  function each(selector, fn) { Array.prototype.forEach.call(document.querySelectorAll(selector), fn); }

  function start() {
    settle();
    window.addEventListener("beforeprint", printFoot);
    dropOld();
    unpack();
    each("form.language", carry);
    each("form[data-once]", once);
    each("form[data-draft]", drafts);
    each("input[data-chooses]", chooser);
    each("input[data-sends]", sends);
    each('input[name="all_running"]', allRunning);
    each('form[action="/sign-out"]', signOut);
  }
  if (document.readyState === "loading") { document.addEventListener("DOMContentLoaded", start); } else { start(); }
})();
