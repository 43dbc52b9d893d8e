"""The style of the tickets: A4 lying, a page to each; colours of the Okabe-Ito palette, each with a line style."""

from __future__ import annotations

STYLE = """
:root{--zoom:1;--ink:#191c1f;--soft:#4b545b;--hair:#cfd5d9;
--serif:"Iowan Old Style",Palatino,Georgia,"Liberation Serif",serif;
--sans:"Liberation Sans",Arial,Helvetica,sans-serif}
*{box-sizing:border-box}
html{background:#e9ecee}
body{margin:0;color:var(--ink);font:8pt/1.22 var(--sans);font-variant-numeric:tabular-nums lining-nums}
.ticket{width:297mm;min-height:210mm;margin:6mm auto;padding:7mm 8mm 5mm;background:#fff;
display:flex;flex-direction:column;position:relative}
.body{display:flex;flex-direction:column;flex:1}
.side .body{display:grid;grid-template-columns:auto minmax(0,1fr);gap:8mm}
.over .pictures>*+*{padding-bottom:2mm}
.side .pictures{flex-direction:column;align-items:flex-start;gap:4mm}
.side .columns{display:block}
.side .two{display:grid;grid-template-columns:minmax(0,1fr) minmax(0,1fr);grid-template-rows:auto 1fr;gap:0 6mm}
.two section:first-child{grid-column:1/-1}
.below{display:flex;align-items:flex-end;gap:6mm}
.side section{margin-bottom:2mm}
.note{margin:0 0 1mm;font-style:italic}
.pair{display:flex;width:297mm;margin:6mm auto;background:#fff}
.pair .ticket{width:148.5mm;margin:0;padding:7mm 6mm 5mm}
.pair .ticket+.ticket{border-left:.2mm dashed var(--soft)}
.half h1{font-size:15pt}
.half .pictures{gap:3mm}
.half .columns{display:block;margin-top:2mm}
.half section{margin-bottom:1.5mm}
.size{font:600 15pt/1.2 var(--serif);margin:0 0 1.5mm}
.curve th,.curve td{padding-right:1.6mm}
.plain td:nth-child(2){white-space:normal;min-width:9em}
.square{position:absolute;top:3mm;right:8mm;background:#fff}
header{display:flex;flex-wrap:wrap;align-items:baseline;gap:0 7mm;margin-right:20mm;
border-bottom:.5mm solid var(--ink);padding-bottom:1mm}
h1{font:600 17pt/1.1 var(--serif);margin:0}
header p{margin:0}
header strong{font-size:12pt}
.facts{margin:1.2mm 0 1mm;color:var(--soft)}
header+.facts{margin-right:20mm}
h2{font:600 9.5pt/1.2 var(--serif);margin:1.8mm 0 .6mm}
section>h2:first-child{margin-top:0}
.columns{display:grid;grid-template-columns:fit-content(45%) minmax(0,1fr) minmax(0,1fr);gap:6mm;flex:1}
.uneven{grid-template-columns:fit-content(45%) minmax(0,1fr) minmax(0,1.35fr)}
.half .aside{float:right;margin:0 0 1mm 4mm}
.beside.many{flex-wrap:wrap;max-width:130mm}
.beside{display:flex;gap:0 6mm;align-items:flex-start}
.large .columns,.large table{font-size:11pt}
.large h2{font-size:13pt}
.roomy .columns,.roomy table{font-size:9.5pt}
.roomy h2{font-size:11pt}
.tight .columns,.tight table{font-size:7pt}
.tight li{margin-bottom:.4mm}
.pictures{display:flex;align-items:flex-end;gap:8mm}
.pictures>*{flex:none}
.folded{width:min-content;min-width:45mm}
.folded span{display:block;font-size:8pt;color:var(--soft);margin-top:.5mm}
ol,ul{margin:0;padding-left:4.5mm}
ul.lines{list-style:none;padding:0}
ul.lines li{overflow-wrap:anywhere}
li{margin:0 0 .7mm}
figure{margin:0 0 1mm}
caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
table{border-collapse:collapse;margin:0 0 2mm;font-size:8pt;line-height:1.15}
th{font-weight:600;text-align:left;border-bottom:.25mm solid var(--ink);padding:.4mm 2mm .4mm 0;vertical-align:bottom}
td{border-bottom:.15mm solid var(--hair);padding:.35mm 2mm .35mm 0}
th.n,td.n{text-align:right;white-space:nowrap}
td:first-child{font-weight:600;white-space:nowrap}
.steps th:nth-child(even),.steps td:nth-child(even){padding-left:2.5mm}
.points td:last-child{white-space:nowrap}
footer{border-top:.25mm solid var(--ink);padding-top:1mm;margin-top:1.5mm;font-size:7.5pt;line-height:1.2;display:flex;
flex-wrap:wrap;gap:0 5mm}
footer p{margin:0}
svg{display:block;max-width:100%;overflow:visible}
svg text{font-family:var(--sans);fill:#000}
.blank{fill:#f1f3f4;stroke:#5b646b;stroke-width:.2;stroke-dasharray:1.5 1}
.guide,.leader{stroke:#5b646b;stroke-width:.14;fill:none}
.guide{stroke-dasharray:.2 1.1}
.datum{fill:#000}
svg .figure{font-size:2.5px}
.dimension{stroke:#000;stroke-width:.16;fill:none}
svg .words{font-size:2.5px}
svg .key{font-size:2.6px;font-weight:600;paint-order:stroke;stroke:#fff;stroke-width:.7;stroke-linejoin:round}
@media print,screen and (min-width:1101px){.facts span,.curve th{white-space:nowrap}
.side .pictures{width:min-content}.side .pictures svg,.folded svg{max-width:none}}
@media screen and (max-width:1100px){
html{background:#fff}
.pair{display:block;width:auto;margin:0}
.ticket,.pair .ticket{width:auto;min-height:0;margin:0 0 8mm;padding:4mm;border-bottom:1mm solid var(--ink)}
.columns,.side .body,.side .two,.below{display:block}
.half .aside{float:none;margin:0}.folded{width:auto;min-width:0}.folded span{font-size:14px}
.plain td:nth-child(2){min-width:0}
.pictures,.beside{flex-wrap:wrap}
body,.large .columns,.large table,.tight .columns,.tight table,
.roomy .columns,.roomy table,.side .columns,.side table,table{font-size:14px;line-height:1.35}
h2,.side h2,.roomy h2,.large h2{font-size:16px}
footer{font-size:13px}
table{display:block;max-width:100%;overflow-x:auto}
:root{--zoom:1.1}
.drawing{overflow-x:auto}.drawing svg{max-width:none;height:auto}.pictures>*,figure{max-width:100%;min-width:0}
.points td:last-child{white-space:normal}
}
@media screen and (max-width:430px){
.steps,.large .steps,.roomy .steps,.tight .steps{font-size:12px}
.steps th,.large .steps th,.roomy .steps th,.tight .steps th{font-size:11px;letter-spacing:-.3px}
.steps th,.steps td{padding:1px 2px 1px 3px}.steps td:nth-child(even){padding-left:6px}
.steps th:nth-child(even){padding-left:2px}
}
@media screen and (prefers-color-scheme:dark){html{background:#0d0f11}}
@page{size:landscape;margin:0}
@media print{html{background:#fff}.ticket,.pair{width:100%}.pair .ticket{width:50%}
.ticket{margin:0;min-height:209.5mm;break-after:page}
.pair{margin:0;break-after:page}.pair .ticket{break-after:auto}
main>:last-child{break-after:auto}}
"""
