/* Draws the charts of a page from the options that stand in it as JSON. The
   options hold data and names of colours; colours, date names and number formats
   are added here, so that they can follow the light or dark scheme. Without this
   script the tables of the same numbers stand open. */
(function () {
  'use strict';
  if (!window.echarts) { return; }

  /* Lines, marks and text are at least 3:1 against the sheet they stand on, text
     4.5:1; safe, range and window are areas behind them. */
  var PALETTES = {
    light: {
      sheet: '#fffdf7', ink: '#24291f', soft: '#5a5f50', grid: '#e4ddca',
      check: '#1f5a48', logger: '#1f4e87', range: '#cfdcec', setpoint: '#6a4a8c',
      safe: '#e6f0e4', suspect: '#a3170e', window: '#efe7d2', dead: '#4f5348'
    },
    dark: {
      sheet: '#1f231c', ink: '#ece8db', soft: '#b7b3a3', grid: '#363b31',
      check: '#8fd0b4', logger: '#a3c6f5', range: '#2f4460', setpoint: '#cdb2ea',
      safe: '#25382c', suspect: '#ff9d8f', window: '#3a3526', dead: '#bdb9aa'
    }
  };
  var COLOUR_KEYS = { color: 1, borderColor: 1, backgroundColor: 1, areaColor: 1 };
  var lang = document.documentElement.lang || 'en';
  var dark = window.matchMedia('(prefers-color-scheme: dark)');
  var still = window.matchMedia('(prefers-reduced-motion: reduce)');
  var month = new Intl.DateTimeFormat(lang, { month: 'short' });
  var short = new Intl.DateTimeFormat(lang === 'en' ? 'en-GB' : lang, { day: 'numeric', month: 'short' });
  var long = new Intl.DateTimeFormat(lang === 'en' ? 'en-GB' : lang, { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' });
  var charts = [];
  var printing = false;

  /* colours returns a copy of an option with the names of colours replaced. */
  function colours(value, palette) {
    if (Array.isArray(value)) {
      return value.map(function (v) { return colours(v, palette); });
    }
    if (!value || typeof value !== 'object') { return value; }
    var out = {};
    Object.keys(value).forEach(function (k) {
      var v = value[k];
      if (COLOUR_KEYS[k] && typeof v === 'string' && v.charAt(0) === '@') {
        var name = v.slice(1);
        out[k] = Object.prototype.hasOwnProperty.call(palette, name) ? palette[name] : palette.ink;
      } else {
        out[k] = colours(v, palette);
      }
    });
    return out;
  }

  /* day reads YYYY-MM-DD as a day of the calendar, as ECharts does. */
  function day(text) {
    var p = String(text).split('-');
    return new Date(+p[0], p[1] - 1, +p[2]);
  }

  function axisLabel(value) { return short.format(new Date(value)); }

  /* ticks are days at even steps, as many as have room for their label. */
  function ticks(axis, width) {
    var from = day(axis.min), to = day(axis.max), days = Math.round((to - from) / 86400000), out = [];
    var steps = [1, 2, 7, 14, 28, 56, 91, 182], step = steps.filter(function (s) { return days / s * 62 <= width; })[0] || 365;
    for (var i = 0; i <= days; i += step) { out.push(new Date(from.getFullYear(), from.getMonth(), from.getDate() + i).getTime()); }
    return out;
  }

  function tooltip(number, unit) {
    return function (items) {
      var lines = [];
      (Array.isArray(items) ? items : [items]).forEach(function (item) {
        var v = item.value;
        if (/^(marks|range-|counted)/.test(item.seriesId || '') || !Array.isArray(v) || v[1] === null || v[1] === undefined) { return; }
        if (lines.length === 0) { lines.push(long.format(day(v[0]))); }
        lines.push(item.seriesName + ': ' + (item.name && item.seriesType === 'scatter' ? item.name : number.format(v[1]) + unit));
      });
      return lines.join('\n');
    };
  }

  function option(chart) {
    var o = colours(chart.data, PALETTES[dark.matches && !printing ? 'dark' : 'light']);
    var narrow = chart.box.clientWidth < 480;
    o.animation = !still.matches && !printing && !chart.drawn;
    o.animationDuration = 250;
    (o.xAxis || []).forEach(function (a) {
      var at = ticks(a, chart.box.clientWidth - 60);
      a.axisLabel = Object.assign({}, a.axisLabel, { formatter: axisLabel, customValues: at, hideOverlap: true });
      a.axisTick = { customValues: at };
    });
    /* Beside the ends of the lines there is no room on a phone: their names stand
       above the chart, each with its line. */
    if (narrow) {
      var named = (o.series || []).filter(function (s) { return s.endLabel && s.name; });
      named.forEach(function (s) { s.endLabel.show = false; });
      (o.grid || []).forEach(function (g) { g.right = 14; g.top = named.length > 1 ? 40 : 18; });
      (o.series || []).forEach(function (s) { /* the names of several areas would collide */
        if (s.markArea && s.id === 'marks') { s.markArea.data.slice(1).forEach(function (a) { if (a[0].label) { a[0].label.show = false; } }); }
      });
      if (named.length > 1) {
        o.legend = { show: true, top: 0, left: 0, itemGap: 8, itemWidth: 22, selectedMode: false, textStyle: { color: o.textStyle.color, fontSize: 11 },
          data: named.map(function (s) { return s.name; }) };
      }
    }
    var decimals = +chart.box.dataset.decimals || 0;
    var number = new Intl.NumberFormat(lang, { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
    var axis = new Intl.NumberFormat(lang, { maximumFractionDigits: 2 });
    (o.yAxis || []).forEach(function (a) {
      a.axisLabel = Object.assign({}, a.axisLabel, { formatter: function (v) { return axis.format(v); } });
    });
    var unit = chart.box.dataset.unit ? '\u00a0' + chart.box.dataset.unit : '';
    o.tooltip = Object.assign({}, o.tooltip, { formatter: tooltip(number, unit) });
    return o;
  }

  function draw(chart) {
    chart.view.setOption(option(chart), true);
    chart.drawn = true;
    /* The library writes its own label; ours is in the page already. */
    chart.box.setAttribute('aria-label', chart.label);
  }

  function drawAll() { charts.forEach(draw); }

  document.querySelectorAll('[data-chart]').forEach(function (box) {
    var source = document.getElementById(box.dataset.chart);
    if (!source) { return; }
    box.classList.add('drawn');
    var chart = {
      box: box, label: box.getAttribute('aria-label'), data: JSON.parse(source.textContent),
      view: window.echarts.init(box, null, { renderer: 'svg' })
    };
    charts.push(chart);
    draw(chart);
  });
  document.querySelectorAll('figure.chart').forEach(function (f) {
    var numbers = f.querySelector('details.numbers');
    if (numbers && f.querySelector('.plot.drawn')) { numbers.open = false; }
  });

  if (window.ResizeObserver) {
    var observer = new ResizeObserver(function (entries) {
      entries.forEach(function (e) {
        charts.forEach(function (c) { if (c.box === e.target && !printing) { c.view.resize(); draw(c); } });
      });
    });
    charts.forEach(function (c) { observer.observe(c.box); });
  } else {
    window.addEventListener('resize', function () { charts.forEach(function (c) { c.view.resize(); }); });
  }
  function listen(query, fn) {
    if (query.addEventListener) { query.addEventListener('change', fn); } else { query.addListener(fn); }
  }
  listen(dark, drawAll);
  listen(still, drawAll);

  /* On paper: light colours, a size that fits A4 and Letter (as in tank.css),
     tables open. */
  var opened = [];
  window.addEventListener('beforeprint', function () {
    if (printing) { return; }
    printing = true;
    charts.forEach(function (c) { c.view.resize({ width: 640, height: c.box.classList.contains('low') ? 215 : 300 }); draw(c); });
    document.querySelectorAll('details:not([open])').forEach(function (d) { d.open = true; opened.push(d); });
  });
  window.addEventListener('afterprint', function () {
    printing = false;
    opened.forEach(function (d) { d.open = false; });
    opened = [];
    charts.forEach(function (c) { c.view.resize({ width: 'auto', height: 'auto' }); draw(c); });
  });
})();
