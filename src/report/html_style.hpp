#pragma once

namespace canalrule::report {

/// The style of every page: dark letters on white, one column, thin rules; on paper A4 with no row, chart or
/// picture parted. It stands in the page as raw text, so it holds no < > &.
constexpr const char* html_style = R"(
:root { color: #1c1e21; background: #ffffff; font: 100%/1.5 "DejaVu Sans", Verdana, sans-serif; }
body { max-width: 62rem; margin: 0 auto; padding: 1.5rem 1.25rem 3rem; font-size: 0.875rem; }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 0.25rem; }
h2 { font-size: 1.2rem; margin: 2.5rem 0 0.75rem; padding-top: 0.5rem; border-top: 2px solid #1c1e21; }
h3 { font-size: 1rem; margin: 1.75rem 0 0.5rem; }
p, ul, dl { margin: 0.5rem 0; max-width: 46rem; overflow-wrap: anywhere; }
ul { padding-left: 1.25rem; }
a { color: #00456e; text-underline-offset: 0.15em; }
a:focus-visible, .scroll:focus-visible { outline: 3px solid #00456e; outline-offset: 2px; }
.skip { position: absolute; left: -100rem; }
.skip:focus { left: 0; top: 0; padding: 0.5rem 1rem; background: #ffffff; }
.lead { color: #3d4248; }
.small { font-size: 0.8rem; color: #3d4248; }
.soft { color: #50565d; }
.caution { border-left: 4px solid #1c1e21; padding: 0.25rem 0 0.25rem 0.75rem; }
.sign { display: inline-block; width: 1.3em; text-align: center; }
dl { display: grid; grid-template-columns: minmax(8rem, max-content) 1fr; gap: 0.2rem 1.25rem; }
dt { font-weight: bold; }
dd { margin: 0; }
.contents ul { columns: 15rem; padding-left: 1.25rem; }
.scroll { overflow-x: auto; margin: 1rem 0; }
table { border-collapse: collapse; font-size: 0.8125rem; line-height: 1.4; min-width: 20rem; }
caption { text-align: left; font-weight: bold; padding: 0 0 0.4rem; }
th, td { text-align: left; vertical-align: top; padding: 0.28rem 0.9rem 0.28rem 0; border-bottom: 1px solid #c8ccd1; }
th { font-weight: normal; }
thead th { font-weight: bold; vertical-align: bottom; border-bottom: 1.5px solid #1c1e21; }
.figure { text-align: right; font-variant-numeric: tabular-nums; }
figure { margin: 1.25rem 0; }
figcaption { font-weight: bold; margin-bottom: 0.4rem; }
.drawn { display: flex; flex-wrap: wrap; gap: 0.5rem 2rem; align-items: flex-start; }
.drawn .scroll { margin: 0; flex: 0 1 auto; max-width: 100%; }
.drawn caption { position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; }
svg { display: block; max-width: 100%; height: auto; }
footer { margin-top: 2.5rem; padding-top: 0.5rem; border-top: 1px solid #1c1e21; font-size: 0.8rem; color: #3d4248; }
@media (max-width: 34rem) {
  body { padding: 1rem 0.75rem 2rem; }
  dl { display: block; }
  dt { margin-top: 0.5rem; }
}
@page { size: A4; margin: 16mm 15mm 18mm; }
@page across { size: A4 landscape; margin: 10mm; }
@media print {
  :root { font-size: 11.5px; }
  body { max-width: none; padding: 0; }
  nav, .skip { display: none; }
  a { color: inherit; text-decoration: none; }
  h2, h3, figcaption, caption { break-after: avoid; }
  p, li, dt, dd, tr, figure { break-inside: avoid; }
  dt { break-after: avoid; }
  figure.long { break-inside: auto; }
  svg { break-inside: avoid; }
  thead { display: table-header-group; }
  .scroll { overflow: visible; }
  table { min-width: 0; max-width: 100%; }
  th, td { overflow-wrap: anywhere; }
  .figure, thead th { overflow-wrap: break-word; }
  tbody th { min-width: 6.8em; }
  .drawn { flex-wrap: nowrap; gap: 6mm; }
  .drawn svg { flex: 0 0 auto; width: 104mm; }
  figure.long .drawn { display: block; }
  .new-sheet { break-before: page; }
  .across { page: across; break-before: page; break-after: page; }
}
)";

}  // namespace canalrule::report
