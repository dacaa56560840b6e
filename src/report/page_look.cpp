#include "report/page.hpp"

namespace evenbevel {

// Text on every ground has a contrast of 4.5 or more in both schemes (WCAG 2.1, 1.4.3).
std::string page_style() {
  return R"(:root { color-scheme: light dark; --paper: #fff; --ink: #1a1a1a; --quiet: #5c5c5c; --rule: #d6d6d0;
  --pale: #f1f1ec; --one: #0072b2; --two: #b84f00; --band: #56b4e9; --band-two: #e69f00; --tolerance: #b84f00;
  --middle: #a8437f; }
@media screen and (prefers-color-scheme: dark) { :root { --paper: #161616; --ink: #ececec; --quiet: #a9a9a9;
  --rule: #3d3d3d; --pale: #232323; --one: #7cc6f2; --two: #ffb066; --band: #2a6f9c; --band-two: #8a5a00;
  --tolerance: #ff8a3d; --middle: #e39cc3; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 17px/1.45 system-ui, sans-serif;
  overflow-wrap: anywhere; }
main { max-width: 54rem; margin: 0 auto; padding: 0 1rem 2rem; }
header { padding: .9rem 1rem; color: #fff; background: #5c5c5c; -webkit-print-color-adjust: exact;
  print-color-adjust: exact; }
header > * { max-width: 52rem; margin: 0 auto; }
header.within { background: #0072b2; } header.outside { background: #b84f00; }
header.unresolved { background: #e69f00; color: #1a1a1a; }
h1 { font-size: 2rem; font-weight: 700; line-height: 1.15; }
h2 { font-size: 1.2rem; margin: 1.8rem 0 .5rem; } h3 { font-size: 1rem; margin: 1rem 0 .3rem; }
.first { font-size: 1.25rem; font-weight: 600; margin: 1rem 0; }
.quiet, figcaption { color: var(--quiet); font-size: .9rem; }
[data-unit="mm"] .in, [data-unit="in"] .mm { display: none; }
.units { display: none; } .js .units { display: flex; gap: 1rem; align-items: center; }
.units { border: 0; margin: .6rem 0 0; padding: 0; } .units legend { float: left; padding: 0; color: var(--quiet); }
.units label { display: inline-flex; align-items: center; gap: .35rem; min-height: 2.75rem; cursor: pointer; }
.units input { width: 1.3rem; height: 1.3rem; accent-color: var(--one); }
:focus-visible { outline: 3px solid var(--one); outline-offset: 2px; }
.unseen-text { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
ul { padding-left: 1.2rem; margin: .4rem 0; } li { margin: .3rem 0; }
table { border-collapse: collapse; width: 100%; } caption { text-align: left; font-weight: 600; padding: .5rem 0; }
th, td { text-align: left; padding: .3rem .5rem .3rem 0; border-bottom: 1px solid var(--rule);
  vertical-align: top; font-weight: 400; }
.summary .value { font-weight: 700; white-space: nowrap; } .summary .u { color: var(--quiet); }
figure { margin: 1.2rem 0; } .picture img { max-width: 100%; height: auto; display: block; margin: 0 auto;
  border: 1px solid var(--rule); }
svg { width: 100%; height: auto; display: block; background: var(--pale); touch-action: pan-y; }
svg text { fill: var(--ink); font: 24px system-ui, sans-serif; }
svg .axis { stroke: var(--ink); stroke-width: 2; } svg .curve { fill: none; stroke-width: 4; }
svg .one { stroke: var(--one); } svg .two { stroke: var(--two); stroke-dasharray: 16 6; }
svg .band.one { fill: var(--band); fill-opacity: .5; stroke: none; }
svg .band.two { fill: var(--band-two); fill-opacity: .4; stroke: none; }
svg .middle { stroke: var(--middle); stroke-width: 2; stroke-dasharray: 20 5 5 5; }
svg .tolerance { stroke: var(--tolerance); stroke-width: 3; stroke-dasharray: 9 7; }
svg .unseen { fill: var(--rule); fill-opacity: .55; }
svg .worst { fill: none; stroke: var(--ink); stroke-width: 3; } svg .three { stroke: var(--middle); }
svg .mark { fill: none; stroke-width: 3; stroke-dasharray: none; }
svg .slot { fill: transparent; } svg .slot.now { fill: var(--ink); fill-opacity: .22; }
.chart .place { display: none; width: 100%; height: 2.75rem; margin: 0; accent-color: var(--one); }
.js .chart .place { display: block; } .chart output { display: block; min-height: 1.6rem; font-weight: 600; }
.js .chart output:empty::before { content: "Move the slider or touch the chart for the numbers.";
  color: var(--quiet); font-weight: 400; font-size: .9rem; }
.key { display: inline-flex; align-items: center; gap: .4rem; margin-right: 1rem; }
.key svg { width: 2.6rem; height: .8rem; background: none; flex: none; }
.bar { position: relative; min-width: 7rem; } .bar b { position: relative; padding-left: .3rem; }
.bar span { position: absolute; left: 0; top: .25rem; bottom: .25rem; background: var(--band);
  opacity: .55; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
.facts th { overflow-wrap: normal; padding-right: .9rem; } .budget td { overflow-wrap: normal; }
summary { cursor: pointer; padding: .7rem 0; } .wide { overflow-x: auto; }
.stations td, .stations th { white-space: nowrap; padding-right: .9rem; } small { color: var(--quiet); }
@media (max-width: 32rem) { h1 { font-size: 1.6rem; }
  .summary tr { display: flex; flex-wrap: wrap; border-bottom: 1px solid var(--rule); }
  .summary th, .summary td { border: 0; } .summary th { flex-basis: 100%; padding-bottom: 0; }
  .summary .value { flex: 0 0 7.5rem; padding-top: 0; } .summary .u { flex: 1; padding-top: 0; }
  svg text { font-size: 30px; } }
@page { size: auto; margin: 9mm; }
@media print { body { font-size: 8pt; line-height: 1.2; } main { max-width: none; padding: 0; }
  .screen, .units, .chart .place, .chart output, figcaption { display: none !important; }
  header { padding: 2mm 3mm; } header > * { max-width: none; } h1 { font-size: 15pt; }
  .first { font-size: 11pt; margin: 2mm 0; } h2 { font-size: 9.5pt; margin: 2mm 0 1mm; } ul { margin: 0; }
  li { margin: .3mm 0; } p { margin: 1mm 0; } th, td { padding: .25mm 1mm .25mm 0; }
  .quiet { font-size: 7pt; } .summary, .stations { font-size: 7.5pt; } .chart > svg { max-height: 36mm; }
  .facts, .facts tbody { display: block; font-size: 7pt; line-height: 1.2; }
  .facts tr, .facts th, .facts td, .cautions ul, .cautions li { display: inline; border: 0; padding: 0; }
  .facts th { color: var(--quiet); } .facts th::after { content: ": "; } .facts td::after { content: ";\00a0 "; }
  .sheet { display: grid; grid-template-columns: 1fr 80mm; grid-template-rows: auto 1fr; column-gap: 5mm;
  align-items: start; }
  .sheet .picture { grid-column: 2; grid-row: 1 / span 2; margin: 2mm 0 0; }
  .sheet .picture img { max-height: 165mm; } .sheet > .charts { grid-column: 1; }
  .charts > section ~ section { display: none; }
  .summary .u br { display: none; } .summary .u br + * { margin-left: .6em; }
  svg { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  section, figure, tr { break-inside: avoid; } }
)";
}

// Nothing is lost without it: lengths then stand in the unit that was asked for, and a chart's
// values in the titles of its stations.
std::string page_script() {
  return R"((function () {
  var root = document.documentElement;
  function each(list, act) { Array.prototype.forEach.call(list, act); }
  root.classList.add('js');
  var charts = [];
  each(document.querySelectorAll('.chart'), function (chart) {
    var slots = chart.querySelectorAll('.slot'), place = chart.querySelector('.place');
    var said = chart.querySelector('output'), now = -1;
    function words(k) { return slots[k].getAttribute('data-' + root.dataset.unit); }
    function show(k) {
      if (now >= 0) slots[now].classList.remove('now');
      now = k;
      slots[k].classList.add('now');
      place.value = k;
      place.setAttribute('aria-valuetext', words(k));
      said.textContent = words(k);
    }
    each(slots, function (slot, k) {
      slot.addEventListener('pointerenter', function () { show(k); });
      slot.addEventListener('click', function () { show(k); });
    });
    place.addEventListener('input', function () { show(Number(place.value)); });
    charts.push(function () { if (now >= 0) show(now); });
  });
  each(document.querySelectorAll('input[name=unit]'), function (choice) {
    choice.addEventListener('change', function () {
      root.dataset.unit = choice.value;
      charts.forEach(function (renew) { renew(); });
    });
  });
})();)";
}

}  // namespace evenbevel
