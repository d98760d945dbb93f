// The style sheet of report.html: plain and calm, light, dark and print. The palette keeps its order in lightness and stays
// apart for the colour-blind; states also differ by pattern, kinds also by shape. No fonts or images from elsewhere.

export const REPORT_STYLE = `
:root { color-scheme: light dark; --paper: #fbfaf7; --ink: #1d2326; --soft: #5b656b; --rule: #d5d2c9; --panel: #f1efe8;
  --proven: #9cc3d8; --chosen: #e9dcae; --chosen-ink: #8a6d00; --unproven: #f3f1ec; --unproven-ink: #8f8a80; --lost: #7a1f3d;
  --blue: #0b5c8f; --ochre: #b06a00; --plum: #7a1f3d; --grey: #5b656b; --focus: #0b5c8f; }
@media (prefers-color-scheme: dark) { :root { --paper: #15191b; --ink: #e6e4de; --soft: #a3abaf; --rule: #39424a; --panel: #1e2427;
  --proven: #2f6a8a; --chosen: #574a1e; --chosen-ink: #e3c766; --unproven: #23292c; --unproven-ink: #8b949a; --lost: #f28aa9;
  --blue: #7cc0ea; --ochre: #e6b055; --plum: #f28aa9; --grey: #a3abaf; --focus: #7cc0ea; } }
* { box-sizing: border-box; }
html { font: 16px/1.5 system-ui, "DejaVu Sans", sans-serif; background: var(--paper); color: var(--ink); }
body { margin: 0 auto; padding: 1.5rem 1.25rem 4rem; max-width: 66rem; }
h1 { font-size: 1.15rem; font-weight: 600; margin: 0 0 .75rem; color: var(--soft); }
h2 { font-size: 1.15rem; font-weight: 600; margin: 2.5rem 0 .6rem; padding-top: .6rem; border-top: 1px solid var(--rule); }
h3 { font-size: 1rem; font-weight: 600; margin: 1.4rem 0 .4rem; }
.first { font-size: 1.45rem; line-height: 1.35; margin: 0 0 1rem; max-width: 48rem; }
p, li { max-width: 48rem; }
p.note { color: var(--soft); font-size: .9rem; margin: .35rem 0 0; }
ul { padding-left: 1.2rem; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1.2rem; margin: 1rem 0; }
dt { color: var(--soft); } dd { margin: 0; overflow-wrap: anywhere; }
nav ul { list-style: none; display: flex; flex-wrap: wrap; gap: .2rem 1.2rem; padding: 0; margin: 1.2rem 0 0; }
a { color: var(--blue); } :focus-visible { outline: 3px solid var(--focus); outline-offset: 2px; }
.skip { position: absolute; left: -99rem; } .skip:focus { left: 1rem; top: .5rem; background: var(--paper); padding: .4rem .8rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; font-size: .88rem; }
figure { margin: 0 0 1rem; } figcaption { font-size: .88rem; color: var(--soft); overflow-wrap: anywhere; }
.pair { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(26rem, 100%), 1fr)); gap: 0 1.5rem; }
caption { text-align: left; font-weight: 600; padding: .3rem 0; }
th, td { text-align: left; vertical-align: top; padding: .28rem 1.6rem .28rem 0; border-bottom: 1px solid var(--rule); }
th { font-weight: 600; color: var(--soft); white-space: nowrap; }
td { overflow-wrap: break-word; } td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
td.digest { font-family: ui-monospace, "DejaVu Sans Mono", monospace; font-size: .78rem; overflow-wrap: anywhere; }
details > summary { cursor: pointer; padding: .3rem 0; color: var(--blue); }
.drawing { display: block; width: 100%; height: auto; margin: .4rem 0; } .hidden-drawing { position: absolute; }
svg text { font: 12px system-ui, "DejaVu Sans", sans-serif; fill: var(--soft); }
.grid { stroke: var(--rule); stroke-width: 1; } .axis { stroke: var(--soft); stroke-width: 1; }
.outline { fill: none; stroke: var(--soft); stroke-width: .7; } .lane { fill: var(--panel); }
svg rect { shape-rendering: crispEdges; }
.state-proven { fill: var(--proven); } .state-chosen { fill: url(#hatch-chosen); } .state-unproven { fill: url(#hatch-unproven); }
.state-lost, .thin-lost { fill: var(--lost); } .thin-chosen { fill: var(--chosen-ink); } .thin-unproven { fill: var(--unproven-ink); }
.ground-chosen { fill: var(--chosen); } .ink-chosen { stroke: var(--chosen-ink); stroke-width: 1.6; }
.ground-unproven { fill: var(--unproven); } .ink-unproven { fill: var(--unproven-ink); }
.mark-bar { fill: var(--blue); } .mark-lower, .mark-upper { fill: var(--ochre); } .mark-block { fill: var(--plum); }
.mark-tick { fill: var(--ink); } .mark-diamond { fill: var(--paper); stroke: var(--ink); stroke-width: 1.6; } .mark-dot { fill: var(--grey); }
.level { fill: var(--blue); opacity: .75; } .peak { stroke: var(--plum); stroke-width: 2; stroke-dasharray: 5 3; }
.law { fill: none; stroke: var(--ochre); stroke-width: 2.5; } .measured { fill: var(--blue); }
@media print { html { font-size: 11px; } body { max-width: none; padding: 0; } nav, .skip { display: none; }
  :root { --paper: #fff; --ink: #000; --soft: #444; --rule: #bbb; --panel: #eee; --proven: #9cc3d8; --chosen: #e9dcae; --chosen-ink: #8a6d00;
    --unproven: #fff; --unproven-ink: #777; --lost: #7a1f3d; --blue: #0b5c8f; --ochre: #b06a00; --plum: #7a1f3d; --grey: #444; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; } h2, h3 { break-after: avoid; } svg, tr { break-inside: avoid; } }
`;
