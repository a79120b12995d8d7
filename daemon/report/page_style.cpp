#include "daemon/report/page_style.hpp"

namespace nightferry::report {

// Greys and one dark blue, all of them readable on white (WCAG 2.2, 1.4.3 and 1.4.11) and when printed in
// black.
constinit const Html::Fixed page_style = R"css(
:root { --ink: #16222b; --soft: #4a5a66; --line: #b9c4cb; --tint: #eef2f4; --deep: #1d4d63 }
* { box-sizing: border-box }
html { background: #fff; color: var(--ink); font: 15px/1.4 "Liberation Sans", Arial, sans-serif;
  -webkit-print-color-adjust: exact; print-color-adjust: exact }
body { margin: 0 auto; max-width: 62rem; padding: 1.2rem }
h1, h2, h3, p, dl, dd, figure, ul { margin: 0 }
h1 { font-size: 1.4rem; line-height: 1.2 }
h2 { border-bottom: 2px solid var(--deep); color: var(--deep); font-size: 1.08rem; margin: 1.3rem 0 .5rem }
h3 { font-size: 1rem }
header { align-items: start; display: grid; gap: .6rem 1.5rem; grid-template-columns: 1fr auto }
.unresolved { border: 1px solid var(--line); border-radius: 4px; max-width: 25rem; padding: .3rem .7rem }
.unresolved.some { border: 3px double var(--ink) }
.facts { display: grid; gap: .25rem 1.5rem; grid-column: 1 / -1; grid-template-columns: repeat(4, auto);
  justify-content: start }
.facts div:last-child { grid-column: 1 / -1 }
dt { color: var(--soft); font-size: .85rem }
table { border-collapse: collapse; width: 100% }
caption { font-weight: bold; padding: .15rem 0; text-align: left }
th, td { border-bottom: 1px solid var(--line); padding: .12rem .6rem .12rem 0; text-align: left;
  vertical-align: top }
th { font-weight: normal }
thead th { border-bottom-color: var(--soft); color: var(--soft); font-size: .85rem; vertical-align: bottom }
.numbers td, .numbers thead th + th { font-variant-numeric: tabular-nums }
.groups { column-gap: 2rem; columns: 2 }
.groups table { break-inside: avoid; margin-bottom: .8rem }
.groups tbody th { white-space: nowrap; width: 1% }
.figures { align-items: start; display: grid; gap: .6rem 1.6rem; grid-template-columns: 10fr 8.5fr 7.5fr }
.figures > div > * + * { margin-top: .6rem }
.figures > table td, .narrow td, .weeks th, .weeks td { white-space: nowrap }
.weeks { column-gap: 2rem; columns: 3; margin-top: .8rem }
.beside + .scrolls { margin-top: .8rem }
.scrolls + p { margin-top: .4rem }
.flags tbody th, .flags td:nth-child(2) { white-space: nowrap; width: 1% }
.level { border: 1px solid var(--ink); border-radius: 3px; display: inline-block; font-size: .85rem;
  padding: 0 .4rem }
.contact .level { border-width: 2px; font-weight: bold }
.urgent .level { background: var(--ink); border-width: 2px; color: #fff; font-weight: bold;
  text-transform: uppercase }
.level-text, .without, figcaption p { color: var(--soft); font-size: .9rem; margin-top: .3rem }
.levels { display: flex; flex-wrap: wrap; gap: 0 1.5rem }
.narrow { max-width: 34rem }
.lesions tbody th, .lesions td { white-space: nowrap }
.lesions td:last-child { white-space: normal }
.exceptions thead { clip-path: inset(50%); height: 1px; overflow: hidden; position: absolute; white-space: nowrap; width: 1px }
section > table + table, section > p + table, section > table + p { margin-top: .6rem }
svg { display: block; height: auto; max-width: 100% }
svg text { fill: var(--ink); font-family: inherit; font-size: 10.5px }
.body svg { width: 100% }
svg .body-label { font-size: 12.5px }
.scrolls { overflow-x: auto }
.scrolls svg { max-width: none }
.weekday, .day, .spot-number, .value { text-anchor: middle }
.tick { text-anchor: end }
svg .weekday { fill: var(--soft); font-size: 9px }
.weekend { fill: var(--tint) }
.week { fill: none; stroke: var(--line) }
.filled { fill: var(--ink) }
.drawn, .amount-sign { fill: none; stroke: var(--ink); stroke-linejoin: round; stroke-width: 1.7 }
.amount-sign { stroke-width: 1.3 }
.due .drawn { stroke-dasharray: 2 1.5; stroke-width: 1 }
.legend { display: flex; flex-wrap: wrap; gap: .15rem 1.2rem; list-style: none; margin-top: .3rem; padding: 0 }
.legend li { align-items: center; display: flex; gap: .35rem }
.beside { display: grid; gap: .6rem 2rem; grid-template-columns: 55fr 45fr }
.beside > :first-child > * + * { margin-top: .6rem }
.beside .injections tbody th, .beside .injections td:nth-child(2) { white-space: nowrap; width: 1% }
.pair { display: grid; gap: 0 2rem; grid-template-columns: 1fr 1fr }
.outline { fill: none; stroke: #8b99a3; stroke-width: 1.4 }
.zone { fill: var(--tint); stroke: #8b99a3; stroke-width: .8 }
.unused { fill: none; stroke-dasharray: 3 3 }
.hatch { fill: none; stroke: var(--soft); stroke-width: 1.4 }
.navel { fill: #fff; stroke: var(--soft) }
.lesion { fill: none; stroke: var(--ink); stroke-dasharray: 5 2; stroke-width: 1.6 }
.spot { fill: #fff; stroke: var(--ink); stroke-width: 1.3 }
.ring, .to-place { fill: none; stroke: var(--ink); stroke-width: 1 }
.place { fill: var(--ink) }
svg .spot-number { font-size: 9.5px; font-weight: bold }
svg .strong { font-weight: bold }
.lesions { display: grid; gap: 1rem 2rem; grid-template-columns: 1fr 1fr }
.axis, .curve { fill: none; stroke: var(--soft); stroke-width: 1 }
.curve { stroke: var(--ink); stroke-width: 1.5 }
.look { fill: #fff; stroke: var(--ink); stroke-width: 1.6 }
.look.serious { fill: var(--ink) }
.look.gone { fill: none }
.cautions { padding-left: 1.1rem }
code { font-size: .9em; overflow-wrap: anywhere }
@media screen and (max-width: 46rem) {
  body { padding: .6rem }
  header, .beside, .figures, .lesions, .pair { grid-template-columns: minmax(0, 1fr) }
  .facts { grid-template-columns: 1fr }
  .groups, .weeks { columns: 1 }
  .flags tbody th, .flags td:nth-child(2), .lesions tbody th, .lesions td, .groups tbody th,
  .beside .injections tbody th, .beside .injections td:nth-child(2) { white-space: normal; width: auto }
  .level { text-align: center }
}
@page { margin: 11mm 12mm }
@media print {
  html { font-size: 8.3pt; line-height: 1.22 }
  th, td { padding-bottom: .06rem; padding-top: .06rem }
  body { max-width: none; padding: 0 }
  h2 { break-after: avoid; margin: .55rem 0 .25rem }
  tr, figure, .beside, .pair > section, .narrow { break-inside: avoid }
  .scrolls { overflow: visible }
  .scrolls svg { max-width: 100% }
  }
)css";

}  // namespace nightferry::report
