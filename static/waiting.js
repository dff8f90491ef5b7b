/* Entries that wait on this device while the server cannot be reached. A form
   with data-wait is sent by fetch, so that its page stays when nothing answers.
   The entry is kept before it is sent and forgotten when the server has said that
   it is stored, or when a person has decided about it. It carries the key that the server gave the form, so that it is
   stored once, however often it is sent. Without this script the form is sent as
   any other. Readings only: no names, codes or secrets. */
(function () {
  "use strict";
  var PREFIX = "reddside.waiting.";
  var FIRST = 3000, LONGEST = 60000; // ms between tries, doubling
  var PATIENCE = 20000; // ms for one try
  var OLD = 3 * 24 * 3600 * 1000; // some browsers clear storage after 7 days

  var box, form;
  var pressed = null; // the button that sends the form
  var memory = {}; // what storage would not take
  var states = {}; // what is being done with an entry, by key
  var pause = FIRST, timer = 0;

  // ---- keeping
  function put(e) {
    try {
      window.localStorage.setItem(PREFIX + e.key, JSON.stringify(e));
      delete memory[e.key];
      return true;
    } catch (x) {
      memory[e.key] = e;
      return false;
    }
  }
  function remove(key) {
    delete memory[key];
    delete states[key];
    try { window.localStorage.removeItem(PREFIX + key); } catch (x) { /* it was in memory only */ }
  }
  function all() {
    var found = {}, out = [];
    try {
      for (var i = 0; i < window.localStorage.length; i++) {
        var k = window.localStorage.key(i);
        if (k && k.indexOf(PREFIX) === 0) {
          try {
            var e = JSON.parse(window.localStorage.getItem(k));
            if (e && e.key && e.action && e.fields) { found[e.key] = e; }
          } catch (x) { /* not ours */ }
        }
      }
    } catch (x) { /* no storage */ }
    Object.keys(memory).forEach(function (k) { found[k] = memory[k]; });
    Object.keys(found).forEach(function (k) { out.push(found[k]); });
    return out.sort(function (a, b) { return a.at - b.at; });
  }
  function one(key) { return all().filter(function (e) { return e.key === key; })[0]; }

  // ---- sending
  // send tells what the server said: "stored", "look" (a person has to decide),
  // "sign_in", or "" when it did not answer as it should.
  function send(e) {
    var body = e.fields.map(function (f) { return encodeURIComponent(f[0]) + "=" + encodeURIComponent(f[1]); }).join("&");
    var stop = window.AbortController ? new AbortController() : null;
    var late = stop ? window.setTimeout(function () { stop.abort(); }, PATIENCE) : 0;
    var options = { method: "POST", body: body, credentials: "same-origin", redirect: "manual", cache: "no-store",
      headers: { "Content-Type": "application/x-www-form-urlencoded", "Reddside-Waiting": "1" } };
    if (stop) { options.signal = stop.signal; }
    return window.fetch(e.action, options).then(function (r) {
      window.clearTimeout(late);
      var to = r.headers.get("Location") || "";
      if (r.status === 201 && to.charAt(0) === "/") { return { said: "stored", to: to }; }
      if (r.status === 401) { return { said: "sign_in" }; }
      if (r.status >= 400 && r.status < 500 && r.status !== 421 && r.status !== 429) { return { said: "look" }; }
      return { said: "" };
    }, function () {
      window.clearTimeout(late);
      return { said: "" };
    });
  }

  function retry(e, asked) {
    if (states[e.key] === "sending") { return Promise.resolve(); }
    states[e.key] = "sending";
    show();
    return send(e).then(function (answer) {
      states[e.key] = answer.said;
      if (answer.said === "stored") { stored(e, answer.to); return; }
      if (answer.said === "look" && asked) { submitAs(e); return; }
      e.need = answer.said;
      put(e);
      show();
    });
  }

  // idle tells that an entry needs nobody.
  function idle(e) { return e.need !== "look" && e.need !== "decided" && states[e.key] !== "open"; }

  // flush tries everything that needs nobody, and tries again later.
  function flush() {
    window.clearTimeout(timer);
    timer = 0;
    var mine = all().filter(function (e) { return e.who === box.getAttribute("data-who") && idle(e); });
    var before = mine.length;
    mine.reduce(function (done, e) { return done.then(function () { return retry(e, false); }); }, Promise.resolve()).then(function () {
      var left = all().filter(function (e) { return e.who === box.getAttribute("data-who") && idle(e); }).length;
      pause = left < before ? FIRST : Math.min(pause * 2, LONGEST);
      if (left > 0) { timer = window.setTimeout(flush, pause); }
    });
  }
  function soon() {
    window.clearTimeout(timer);
    pause = FIRST;
    timer = window.setTimeout(flush, pause);
  }

  function stored(e, to) {
    remove(e.key);
    if (form && form.hidden && key(form) === e.key) { window.location.assign(to); return; }
    var li = document.createElement("li");
    var a = document.createElement("a");
    a.href = to;
    a.className = "target";
    a.textContent = text("stored") + " " + e.tank + ", " + day(e.on);
    li.appendChild(a);
    part("done").appendChild(li);
    show();
  }

  // ask keeps an entry that the server has a question about, while its page comes.
  function ask(e, said) {
    e.need = said;
    put(e);
  }

  // submitAs sends an entry as the form would, so that the server's page with its
  // questions is shown.
  function submitAs(e) {
    ask(e, "look");
    var f = document.createElement("form");
    f.method = "post";
    f.action = e.action;
    f.hidden = true;
    e.fields.forEach(function (x) {
      var i = document.createElement("input");
      i.type = "hidden";
      i.name = x[0];
      i.value = x[1];
      f.appendChild(i);
    });
    document.body.appendChild(f);
    f.submit();
  }

  // held finds the entry that the page itself shows: in its form, or beside what
  // is stored already. It leaves the list while the page is open. When a person has
  // decided, it is forgotten as soon as the page shows that the server has acted; a
  // stored check of the same tank and day answers its question, too. Only what could
  // not be sent waits: a question that is on the page is none of the list.
  function held() {
    var acted = document.querySelector("[data-stored], form[data-posted]"), done = document.querySelector("[data-stored-of]");
    all().forEach(function (e) {
      if (done && e.need === "look" && e.action === done.getAttribute("data-stored-of") && e.on === done.getAttribute("data-stored-on")) { remove(e.key); return; }
      if (e.need !== "decided") { return; }
      if (acted || e.to === window.location.pathname) { remove(e.key); } else { ask(e, "look"); }
    });
    var compare = document.querySelector("[data-held]"), e;
    if (form) { onPage(key(form)); }
    e = onPage(compare && compare.getAttribute("data-held"));
    all().forEach(function (x) { if (states[x.key] !== "open" && !x.waited) { x.waited = true; put(x); } });
    if (!e) { return; }
    var decide = function (to) { e.to = to; ask(e, "decided"); };
    compare.addEventListener("submit", function () { decide(""); });
    Array.prototype.forEach.call(compare.querySelectorAll("a"), function (a) { a.addEventListener("click", function () { decide(a.pathname); }); });
  }

  // onPage takes an entry that the page shows off the list, and forgets it when it
  // has never waited.
  function onPage(k) {
    var e = k && one(k);
    if (!e) { return null; }
    if (!e.waited) { remove(k); return null; }
    states[k] = "open";
    return e;
  }

  // ---- the list
  function part(name) { return box.querySelector("[data-waiting-" + name + "]"); }
  function text(name) { return box.getAttribute("data-text-" + name) || ""; }
  function day(on) {
    var m = /^(\d{4})-(\d{2})-(\d{2})$/.exec(on);
    if (!m) { return on; }
    try {
      return new Date(+m[1], m[2] - 1, +m[3]).toLocaleDateString(document.documentElement.lang.replace(/^en$/, "en-GB"), { weekday: "long", day: "numeric", month: "long" });
    } catch (x) { return on; }
  }
  function stateText(e) {
    if (states[e.key] === "sending") { return text("sending"); }
    if (e.need === "look") { return text("look"); }
    if (e.need === "sign_in") { return text("sign-in"); }
    if (e.who !== box.getAttribute("data-who")) { return text("other") + " " + e.who; }
    if (memory[e.key]) { return text("memory"); }
    if (Date.now() - e.at > OLD) { return text("old"); }
    return text("wait");
  }

  function show() {
    var list = part("list"), entries = all();
    if (form && !form.hidden) {
      // What is on its way from the form is not waiting.
      entries = entries.filter(function (e) { return e.key !== key(form) || e.need || memory[e.key]; });
    }
    entries = entries.filter(function (e) { return states[e.key] !== "open" && e.need !== "decided"; });
    box.hidden = entries.length === 0 && part("done").children.length === 0;
    part("title").textContent = entries.length === 0 ? "" : entries.length === 1 ? text("one") : text("many").replace("#", String(entries.length));
    part("title").hidden = entries.length === 0;
    var keep = {};
    entries.forEach(function (e) {
      keep[e.key] = true;
      var li = list.querySelector('li[data-key="' + e.key + '"]') || item(e);
      var state = li.querySelector("[data-waiting-state]"), says = stateText(e);
      if (state.textContent !== says) { state.textContent = says; }
      li.querySelector("[data-waiting-what]").textContent = what(e);
    });
    Array.prototype.slice.call(list.children).forEach(function (li) { if (!keep[li.getAttribute("data-key")]) { list.removeChild(li); } });
  }
  function what(e) { return e.says.map(function (s) { return s[0] + ": " + s[1]; }).join(" · "); }

  function item(e) {
    var li = document.importNode(part("item").content, true).querySelector("li");
    li.setAttribute("data-key", e.key);
    li.querySelector("[data-waiting-tank]").textContent = e.tank + ", " + day(e.on);
    li.querySelector("[data-waiting-open]").addEventListener("click", function () { open(e.key); });
    li.querySelector("[data-waiting-send]").addEventListener("click", function () { var x = one(e.key); if (x) { retry(x, true); } });
    var away = li.querySelector("[data-waiting-discard]"), sure = false;
    away.addEventListener("click", function () {
      if (!sure) { sure = true; away.textContent = text("sure"); return; }
      remove(e.key);
      if (form && form.hidden && key(form) === e.key) { window.location.assign(window.location.pathname); return; }
      show();
    });
    part("list").appendChild(li);
    return li;
  }

  // open brings the values back into the form, here or on the page of the form.
  function open(k) {
    var e = one(k);
    if (!e) { return; }
    if (form && form.getAttribute("data-wait-form") === e.form) { fill(e); return; }
    window.fetch("/healthz", { cache: "no-store" }).then(function (r) {
      if (!r.ok) { throw new Error("not ready"); }
      window.location.assign(e.form + "#waiting=" + k);
    }).catch(function () {
      var li = part("list").querySelector('li[data-key="' + k + '"]');
      if (li) { li.querySelector("[data-waiting-state]").textContent = text("away"); }
    });
  }

  // ---- the form
  function key(f) { return f.elements.key ? f.elements.key.value : ""; }

  function fill(e) {
    states[e.key] = "open";
    var values = {};
    e.fields.forEach(function (x) { values[x[0]] = x[1]; });
    Array.prototype.forEach.call(form.elements, function (el) {
      if (!el.name || el.type === "submit" || el.name === "confirm" || el.name === "was_confirmed") { return; }
      var has = Object.prototype.hasOwnProperty.call(values, el.name);
      if (el.type === "radio" || el.type === "checkbox") { el.checked = has && el.value === values[el.name]; }
      else { el.value = has ? values[el.name] : ""; }
      var fold = el.closest("details");
      if (has && values[el.name] !== "" && fold && (el.type !== "radio" || el.checked)) { fold.open = true; }
    });
    e.need = "";
    e.waited = true;
    put(e);
    form.hidden = false;
    show();
    form.scrollIntoView();
    var first = form.querySelector('input[type="text"]');
    if (first) { first.focus(); }
  }

  // label is what a person reads beside a field.
  function label(el) {
    if (el.hasAttribute("data-says")) { return el.getAttribute("data-says"); }
    var of = el.type === "radio" ? el.closest("fieldset") && el.closest("fieldset").querySelector("legend") : form.querySelector('label[for="' + el.id + '"]');
    if (!of) { return el.name; }
    var copy = of.cloneNode(true);
    Array.prototype.forEach.call(copy.querySelectorAll(".optional"), function (x) { x.parentNode.removeChild(x); });
    return copy.textContent.replace(/\s+/g, " ").trim();
  }
  function answer(el) {
    if (el.type !== "radio" && el.type !== "checkbox") { return el.value; }
    var tile = el.closest("label"), name = tile && (tile.querySelector(".pick-name") || tile.querySelector("span"));
    return name ? name.textContent.replace(/\s+/g, " ").trim() : el.value;
  }

  function collect() {
    var e = { key: key(form), at: Date.now(), action: form.getAttribute("action"), form: form.getAttribute("data-wait-form"), tank: form.getAttribute("data-wait"),
      on: "", who: box.getAttribute("data-who"), need: "", fields: [], says: [] };
    Array.prototype.forEach.call(form.elements, function (el) {
      if (!el.name || ((el.type === "submit" || el.type === "button") && el !== pressed)) { return; }
      if ((el.type === "radio" || el.type === "checkbox") && !el.checked) { return; }
      e.fields.push([el.name, el.value]);
      if (el.name === "on") { e.on = el.value; return; }
      if (el.type === "hidden" || el.type === "submit" || el.value === "" || el.name === "on_other") { return; }
      if (el.name === "confirm" || el.name === "was_confirmed") { return; }
      e.says.push([label(el), answer(el)]);
    });
    if (e.on === "other" && form.elements.on_other) { e.on = form.elements.on_other.value; }
    return e;
  }

  function submitted(ev) {
    if (ev.defaultPrevented || !window.fetch || key(form).length !== 26) { return; }
    ev.preventDefault();
    var e = collect();
    var kept = put(e);
    states[e.key] = "sending";
    send(e).then(function (answer) {
      delete states[e.key];
      if (answer.said === "stored") {
        remove(e.key);
        window.location.assign(answer.to);
        return;
      }
      if (answer.said !== "") {
        // The server has questions: its own page asks them, with every value.
        ask(e, answer.said);
        if (pressed && pressed.form === form && pressed.name) {
          var said = document.createElement("input");
          said.type = "hidden";
          said.name = pressed.name;
          said.value = pressed.value;
          form.appendChild(said);
        }
        form.submit();
        return;
      }
      e.waited = true;
      if (kept) { put(e); }
      form.dispatchEvent(new CustomEvent("reddside-waits", { detail: { kept: kept } }));
      if (kept) {
        form.hidden = true;
        part("done").textContent = "";
      } else {
        memory[e.key] = e;
      }
      show();
      box.scrollIntoView();
      part("title").focus();
      soon();
    });
  }

  function start() {
    box = document.querySelector("[data-waiting]");
    if (!box || !window.Promise || !window.fetch) { return; }
    form = document.querySelector("form[data-wait]");
    if (form) {
      form.addEventListener("submit", submitted);
      document.addEventListener("click", function (ev) { pressed = ev.target.closest ? ev.target.closest("button") : null; }, true);
      Array.prototype.forEach.call(document.querySelectorAll("[data-leave]"), function (a) { a.addEventListener("click", function () { remove(key(form)); }); });
      var m = /^#waiting=([A-Z2-7]{26})$/.exec(window.location.hash), e = m && one(m[1]);
      if (e && e.form === form.getAttribute("data-wait-form")) { fill(e); }
    }
    held();
    show();
    flush();
    window.addEventListener("online", soon);
    window.addEventListener("storage", show);
    document.addEventListener("visibilitychange", function () { if (!document.hidden && timer) { soon(); } });
  }
  if (document.readyState === "loading") { document.addEventListener("DOMContentLoaded", start); } else { start(); }
})();
