"""The style of the page: for a screen and for A4 paper; colours of the Okabe-Ito palette, each with a line style."""

from __future__ import annotations

STYLE = """
:root{--zoom:1.3;--ink:#191c1f;--soft:#5b646b;--hair:#cfd5d9;
--serif:"Iowan Old Style",Palatino,Georgia,"Liberation Serif",serif;
--sans:system-ui,"Liberation Sans",Arial,sans-serif;--paper:#fff;--desk:#e9ecee;--fold:#0072B2}
*{box-sizing:border-box}
html{background:var(--desk)}
body{margin:0;color:var(--ink);font:14px/1.5 var(--sans);font-variant-numeric:tabular-nums lining-nums}
main{width:fit-content;max-width:100%;margin:0 auto;padding:15mm 12mm;background:var(--paper)}
main>*{max-width:calc(186mm * var(--zoom))}
h1,h2,h3,.figures strong{font-family:var(--serif);font-weight:600;line-height:1.15}
h1{font-size:30px;margin:0 0 20px}
h2{font-size:21px;margin:38px 0 10px;padding-bottom:5px;border-bottom:1px solid var(--ink)}
h3{font-size:17px;margin:0}
p{margin:0 0 8px}
.kind{display:flex;flex-wrap:wrap;justify-content:space-between;gap:0 20px;
letter-spacing:.14em;text-transform:uppercase;font-size:11px;color:var(--soft);margin:0 0 4px}
.kind small{font-size:11px;letter-spacing:0;text-transform:none}
.figures{display:flex;gap:26px;border-top:2px solid var(--ink);border-bottom:1px solid var(--hair);padding:14px 0 16px}
.figures div{flex:1}
.figures strong{display:block;font-size:30px;white-space:nowrap}
.figures span{display:block;font-weight:600}
.figures small{color:var(--soft);font-size:12px;line-height:1.35;display:block}
.cautions{margin-top:22px}
.cautions>div{border:1px solid var(--ink);border-left-width:6px;padding:8px 18px;margin-top:5px}
.cautions h2,.cautions h3{border:0;margin:0 0 4px;padding:0;font-size:17px}
.cautions ul{margin:0;padding-left:18px}
.cautions li{margin:2px 0}
.finding{padding-left:12px;border-left:3px double var(--soft);margin:0 0 12px}
.finding p{margin:0 0 2px}
.remedy{font-style:italic}
.contents ul{list-style:none;display:flex;flex-wrap:wrap;gap:4px 20px;padding:0;margin:18px 0 0}
a{color:var(--ink)}
summary{cursor:pointer;color:var(--soft);font-size:12.5px}
details p{font-size:12.5px;overflow-wrap:anywhere}
.mind{border-left:6px solid var(--ink);padding:2px 0 2px 12px}
caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.note,.facts,.key{color:var(--soft);font-size:12.5px}
.together>.note{margin:0 0 2px}
.notes{white-space:pre-line;font-style:italic}
table{border-collapse:collapse;width:100%;margin:0 0 14px;font-size:12.5px}
th{font-weight:600;text-align:left;vertical-align:bottom;
border-bottom:1px solid var(--ink);padding:3px 8px 3px 0;line-height:1.25}
td{border-bottom:1px solid var(--hair);padding:3px 8px 3px 0;vertical-align:top}
td:first-child{white-space:nowrap}
.pieces td:nth-child(2){min-width:calc(23mm * var(--zoom))}
.quantities td:last-child{width:56%}
th.n,td.n{text-align:right}td.n{white-space:nowrap}
td.n+td:not(.n),th.n+th:not(.n){padding-left:10px}
tr.total td{border-top:1px solid var(--ink);border-bottom:0;font-weight:600}
thead{display:table-header-group}
tr{break-inside:avoid}
.key{display:flex;flex-wrap:wrap;align-items:center;gap:3px 18px;margin-bottom:14px}
.key svg{display:inline-block;vertical-align:-.15em;margin:0 6px 0 0}
.roll{margin:0 0 24px}
.pair>*{flex:0 0 calc(87mm * var(--zoom));align-content:flex-start}
.facts{margin:1px 0 6px}
svg{display:block;max-width:100%;height:auto;break-inside:avoid;overflow:hidden;background:#fff}
figure{margin:0;max-width:100%}
.drawings>*,.walls>*{margin-bottom:6px}figure,.with-key{row-gap:3px}
figure,.with-key{display:flex;flex-wrap:wrap;align-items:flex-end;gap:8px 24px}
figure{align-items:flex-start}
figure .with-key{flex-grow:1}
.pair{display:flex;flex-wrap:wrap;gap:20px 12px}
.legend{columns:calc(56mm * var(--zoom)) 3;column-gap:20px}
.with-key>:last-child{flex:1 1 calc(50mm * var(--zoom));align-self:center}
.walls .with-key>:last-child{flex-basis:calc(36mm * var(--zoom));min-width:0}.walls .with-key>.below{flex-basis:100%}
.legend li{padding-left:8px;text-indent:-8px}
.in-space{max-width:calc(100mm * var(--zoom))}
.in-space span{display:block;color:var(--soft);font-size:12px}
.shared{font-size:12px}
.legend:has(>li:only-child){columns:auto}
.legend li{break-inside:avoid}
.shared b{font-weight:600}
figcaption b,figcaption span{display:block}
figcaption span{color:var(--soft);font-size:12px}
.legend{list-style:none;margin:2px 0 0;padding:0;font-size:12px}
.legend b{color:var(--fold);font-family:var(--sans)}
svg text{font-family:var(--sans);fill:#000}
.scrap{fill:#f1f3f4;stroke:none}
.hatch{fill:none;stroke:#8b949a;stroke-width:.2}
.ground{fill:#fff;stroke:none}
.bar{fill:#5b646b}
.edge{stroke:#000;stroke-width:.5;fill:none}
.break{stroke:#000;stroke-width:.25;stroke-dasharray:.8 .8;fill:none}
.rest{stroke:#5b646b;stroke-width:.25;stroke-dasharray:.3 1;stroke-linecap:round;fill:none}
.cross-cut{stroke:#000;stroke-width:.8;fill:none}
.across{stroke:#000;stroke-width:.25;stroke-dasharray:1.6 .8 .3 .8;fill:none}
.tick,.dimension{stroke:#000;stroke-width:.16;fill:none}
.guide{stroke:#5b646b;stroke-width:.1;fill:none}
svg .figure,svg .cut-number{font-size:2.4px}
svg .words{font-size:2.7px}
svg .soft{fill:#5b646b}
svg .figure{paint-order:stroke;stroke:#fff;stroke-width:.6;stroke-linejoin:round}
svg .id,svg .keep,svg .letter{paint-order:stroke;stroke:#fff;stroke-width:.7;stroke-linejoin:round}
svg .id{font-weight:600}
svg .keep{font-style:italic}
svg .letter{font-size:2.4px;font-weight:600;fill:#0072B2}
@media screen and (max-width:700px){
main{padding:6mm 4mm;width:auto}
.figures{flex-wrap:wrap}.figures div{flex:1 1 40%}.figures strong{font-size:22px}
.drawing{overflow-x:auto}.drawing svg{max-width:none}
figure,.together,.with-key,.in-space{max-width:100%;min-width:0}.pair>*{flex-basis:100%;min-width:0}
.few td:not(.n),.few th{white-space:normal}.few td:first-child{overflow-wrap:anywhere}
table:not(.few) thead{display:none}
:not(.few)>tbody>tr{display:flex;flex-wrap:wrap;gap:0 14px;border-bottom:1px solid var(--hair);padding:4px 0}
:not(.few)>tbody td{display:flex;gap:5px;text-align:left;white-space:normal;border:0;padding:0;overflow-wrap:anywhere}
:not(.few)>tbody td.n+td:not(.n){padding:0}
.pieces td:nth-child(2){min-width:0}
.quantities td:last-child{width:auto}
:not(.few)>tbody td::before{content:attr(data-name);color:var(--soft);flex:none}
:not(.few)>tbody td:first-child::before{content:none}
:not(.few)>tbody td:empty{display:none}
td:first-child{font-weight:600}
p,li,figcaption{overflow-wrap:anywhere}
}
@media screen and (prefers-color-scheme:dark){
:root{--ink:#e8eaec;--soft:#aab3b9;--hair:#3a4046;--paper:#16191c;--desk:#0d0f11;--fold:#7cc0f2}
}
@page{margin:10mm 12mm}
@media print{
:root{--zoom:1}
html{background:#fff}
body{font-size:9.5pt}
main{padding:0;width:auto}
h1{font-size:21pt}h2{font-size:15pt;break-after:avoid}.key{margin-bottom:8px}h3{font-size:12pt}
.figures strong{font-size:20pt}
table,.note,.facts,.key,.legend,figcaption span{font-size:8pt;line-height:1.3}
.roll{margin:0 0 12px}td,th{padding:2px 6px 2px 0}h2{margin:22px 0 8px}
.together,.contents,.opening,.job>.facts,.job>.notes,.finding,.cautions>div,.account table,.proved{break-inside:avoid}
tbody tr:first-child{break-after:avoid}
tbody,tbody tr:last-child{break-before:avoid}
.job>h2,.job>.facts:not(.proved),.job>.notes{break-after:avoid}
.note{break-before:avoid;break-inside:avoid}
details{display:none}td a{text-decoration:none}
.cautions,.finding{font-size:8.5pt}
.cautions{font-size:8pt;line-height:1.3;margin-top:14px}
.in-space span,.shared{font-size:8pt;line-height:1.3}
.drawings>*,.walls>*{margin-bottom:6px}figure,.with-key{row-gap:3px}
figure,.with-key,.shared{break-inside:avoid}
}
"""
