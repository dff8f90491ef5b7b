/* Keeps a wall display fresh. It asks for the page again and puts the new one in
   place of the old. While the server is away the old one stays, and says since
   when. Without this script the page refreshes itself. */
(function () {
  'use strict';
  var main = document.getElementById('main');
  if (!main || !main.getAttribute('data-every') || !window.fetch || !window.DOMParser || !window.AbortController) { return; }
  var away = document.getElementById('wall-away');
  var out = document.getElementById('wall-out');
  var timer = 0, busy = false, PATIENCE = 20000;

  /* Shows one of the two notes, or none. */
  function say(which) {
    [away, out].forEach(function (x) {
      x.querySelector('[data-wall-time]').textContent = main.getAttribute('data-seen');
      x.hidden = x !== which;
    });
  }

  function take(text) {
    var next = new DOMParser().parseFromString(text, 'text/html').getElementById('main');
    if (!next || !next.getAttribute('data-every')) { say(out); return; } /* the sign-in page */
    if (next.getAttribute('data-assets') !== main.getAttribute('data-assets')) {
      window.location.assign(main.getAttribute('data-next')); /* a new program has new styles */
      return;
    }
    main.replaceWith(document.adoptNode(next));
    main = next;
    say(null);
  }

  function load() {
    if (busy) { return; }
    busy = true;
    clearTimeout(timer);
    var stop = new AbortController();
    var late = setTimeout(function () { stop.abort(); }, PATIENCE);
    fetch(main.getAttribute('data-next'), { credentials: 'same-origin', cache: 'no-store', signal: stop.signal })
      .then(function (r) {
        if (r.status >= 500) { throw new Error('status ' + r.status); }
        return r.text();
      })
      .then(take)
      .catch(function () { say(away); })
      .then(function () {
        clearTimeout(late);
        busy = false;
        timer = setTimeout(load, 1000 * Math.max(2, parseInt(main.getAttribute('data-every'), 10) || 60));
      });
  }

  timer = setTimeout(load, 1000 * Math.max(2, parseInt(main.getAttribute('data-every'), 10) || 60));
  /* A screen that wakes up does not show old figures for another minute. */
  document.addEventListener('visibilitychange', function () { if (!document.hidden) { load(); } });
})();
