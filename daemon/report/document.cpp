#include "report/document.h"

#include <string_view>

#include <fmt/format.h>

namespace limegate::report {
namespace {

// Grey is well; colour is only for limits and what went wrong, and a dash or a name goes with it.
// Contrast of text, computed by WCAG 2.2's formula: 12.9 and 5.2 on light, 10.3 and 6.5 on dark.
constexpr std::string_view kStyle = R"css(
:root { color-scheme: light dark; --ground: #e6e8e9; --card: #f3f4f5; --text: #1d2326; --second: #54606a;
  --line: #b4bac0; --band: #a9b1b7; --ink: #2f3b43; --limit: #b3261e; --span: #e3cfa6; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ground: #1c2023; --card: #23282c; --text: #c9ced2; --second: #9aa4ab; --line: #4b545b;
    --band: #565f67; --ink: #d7dce0; --limit: #ff8a80; --span: #57472a; }
}
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 60rem; padding: 0 1rem 2rem; background: var(--ground); color: var(--text);
  font: 1rem/1.4 system-ui, sans-serif; }
h1 { font-size: 1.35rem; margin: 1rem 0 .25rem; overflow-wrap: anywhere; }
h2 { font-size: 1rem; margin: 0 0 .4rem; color: var(--second); overflow-wrap: anywhere; }
p, ul { margin: .25rem 0; } ul { padding-left: 1.2rem; }
section { background: var(--card); padding: .75rem 1rem; margin: .75rem 0; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .9rem; }
th, td { text-align: left; vertical-align: top; padding: .15rem .75rem .15rem 0; font-weight: normal;
  border-top: 1px solid var(--line); overflow-wrap: break-word; }
th { color: var(--second); } td { font-variant-numeric: tabular-nums; }
figure { margin: .5rem 0; } figcaption { font-size: .9rem; } .name { display: inline-block; margin-right: .6rem; }
figure svg[role] { display: block; width: 100%; min-width: 30rem; }
.key { width: 1.6em; height: .7em; margin-right: .3em; }
text { font: 11px system-ui, sans-serif; fill: var(--second); }
.end { text-anchor: end; } .middle { text-anchor: middle; }
.grid { stroke: var(--line); stroke-width: .6; fill: none; }
.bar { fill: var(--band); } .span { fill: var(--span); }
.band { fill: var(--band); stroke: var(--band); stroke-width: .8; } .band.second { fill: none; stroke: var(--second); stroke-dasharray: 2 2; }
.line { fill: none; stroke-width: 1.3; stroke: var(--ink); stroke-linecap: round; stroke-linejoin: round; }
.line.second { stroke-dasharray: 1 3; } .line.limit { stroke: var(--limit); stroke-dasharray: 7 4; }
.strip .bar { fill: var(--ink); }
.strip { display: block; width: 14rem; height: .8rem; border-bottom: 1px solid var(--line); }
@media screen and (max-width: 40rem) { .strip { width: 6rem; } td:last-child { min-width: 12rem; } }
@page { size: A4; margin: 13mm; @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; } }
@media print {
  :root { --ground: #fff; --card: #fff; }
  body { max-width: none; padding: 0; font-size: 8.5pt; line-height: 1.25; }
  h1 { font-size: 12pt; margin: 0; } h2 { font-size: 9.5pt; color: var(--text); margin: 0 0 .15rem; }
  section { padding: 0; margin: .5rem 0 0; break-inside: avoid; } figure, tr { break-inside: avoid; }
  figure { margin: .2rem 0; } table, figcaption { font-size: 8pt; } th, td { padding-top: .05rem; padding-bottom: .05rem; }
  .wide { overflow: visible; } figure svg[role] { min-width: 0; }
  * { print-color-adjust: exact; }
}
)css";

constexpr std::string_view kCaution =
    "Test the water by hand: this is an aid. Calcium hydroxide is strongly caustic: eye "
    "protection, "
    "gloves, no dust, out of reach of children; rinse eyes with water and seek medical help. Water "
    "and mains power together want residual-current protection, drip loops and, where local codes "
    "ask for one, a licensed electrician.";

}  // namespace

std::string page_of(const Document& document) {
  std::string sections;
  for (const Section& section : document.sections) {
    sections += fmt::format("<section><h2>{}</h2>\n{}</section>\n", text(section.heading).xml,
                            section.body.xml);
  }
  return fmt::format(
      "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\"><head>"
      "<meta charset=\"utf-8\"/>"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\"/>\n"
      "<title>{0}</title>\n<style>{1}</style></head>\n<body><main><h1>{0}</h1>\n{2}{3}"
      "</main>\n<footer><p>{4}</p></footer></body></html>\n",
      text(document.title).xml, kStyle, paragraph(document.lead).xml, sections, kCaution);
}

}  // namespace limegate::report
