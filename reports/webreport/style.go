package webreport

import "pintle/reports/chart"

// A scheme is the colours of a page, as #rrggbb. Every word can be told from what
// it stands on, and so can every frame that carries a meaning.
type scheme struct {
	paper, sheet          string // behind the text; of the strip
	ink, faint, link      string
	line, hole            string // rules of the page, holes of the strip
	pass, fail, open, not string // verdicts: pass, fail, inconclusive, void
	plate, onPlate        string
	chart                 chart.Palette
}

var (
	day = scheme{
		paper: "#fffdf8", sheet: "#fbf5e6", ink: "#1c2a4d", faint: "#54492f", link: "#0f4f8a", line: "#8a7a55", hole: "#c9b684",
		pass: "#125148", fail: "#b3221a", open: "#7a4a00", not: "#4a4f5c", plate: "#1c2a4d", onPlate: "#ffffff", chart: chart.Day,
	}
	night = scheme{
		paper: "#101217", sheet: "#171a21", ink: "#e6ebfa", faint: "#c6bda4", link: "#8fc2ff", line: "#8d8a7c", hole: "#4a5163",
		pass: "#8fe0d2", fail: "#ff9a8c", open: "#f2c46d", not: "#b9c0d0", plate: "#e6ebfa", onPlate: "#101217", chart: chart.Night,
	}
)

// properties gives a scheme as custom properties.
func (s scheme) properties() string {
	return "--paper:" + s.paper + ";--sheet:" + s.sheet + ";--ink:" + s.ink + ";--faint:" + s.faint + ";--link:" + s.link +
		";--line:" + s.line + ";--hole:" + s.hole + ";--pass:" + s.pass + ";--fail:" + s.fail + ";--open:" + s.open + ";--not:" + s.not +
		";--plate:" + s.plate + ";--on-plate:" + s.onPlate + ";" + s.chart.Properties()
}

// style is the style of a page: the schemes, the layout, and the charts.
var style = ":root{color-scheme:light dark;" + day.properties() + "}\n" +
	"@media screen and (prefers-color-scheme:dark){:root{" + night.properties() + "}}\n" +
	layout + chart.InlineStyle

const layout = `*{box-sizing:border-box}
html{background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,"Liberation Sans",sans-serif;-webkit-text-size-adjust:100%;text-size-adjust:100%;scroll-padding-top:1rem}
body{margin:0 auto;max-width:60rem;padding:0 1rem 2rem;overflow-wrap:break-word}
a{color:var(--link)}
:focus-visible{outline:3px solid var(--link);outline-offset:2px}
.skip{position:absolute;left:-99rem;top:0;background:var(--plate);color:var(--on-plate);padding:.6rem 1rem;z-index:1}
.skip:focus{left:0}
h1{font-size:1.5rem;line-height:1.25;margin:1.2rem 0 .2rem}
h2{font-size:1.25rem;line-height:1.3;margin:2.2rem 0 .7rem;border-bottom:1px solid var(--line);padding-bottom:.2rem}
h3{font-size:1.06rem;line-height:1.4;margin:1.6rem 0 .4rem}
p,ul,ol,dl,table,figure,pre{margin:.6rem 0}
header p,small,figcaption,caption,footer{color:var(--faint)}
small{font-size:.86em;font-weight:normal;display:block}
.columns{columns:18em;padding-left:1.2em}
.columns li{break-inside:avoid}
code,.digest,summary,dd,a{overflow-wrap:anywhere}
code,pre,.digest{font-family:ui-monospace,"Liberation Mono",monospace;font-size:.88em}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:0 1.1rem;padding:0;border-block:1px solid var(--line)}
nav a{display:inline-block;padding:.45rem 0}
.strip{background:radial-gradient(circle at 1rem .5rem,var(--hole) 0 2.6px,transparent 3.2px) 0 0/1.4rem 1rem repeat-x,radial-gradient(circle at 1rem .5rem,var(--hole) 0 2.6px,transparent 3.2px) 0 100%/1.4rem 1rem repeat-x,var(--sheet);border-block:1px solid var(--line);padding:1.4rem 1rem;display:grid;grid-template-columns:auto 1fr;gap:0 1.6rem;align-items:center}
.strip p{margin:.3rem 0}
.word{font-size:2.1rem;font-weight:bold;text-transform:uppercase;line-height:1.2}
.word span{border-bottom:4px solid currentColor}
.word.pass,.verdict.pass{color:var(--pass)}
.word.fail,.verdict.fail{color:var(--fail)}
.word.inconclusive,.verdict.inconclusive{color:var(--open)}
.word.void,.verdict.void{color:var(--not)}
.word.fail span{border-bottom:0;text-decoration:underline wavy 3px;text-underline-offset:.25em}
.word.inconclusive span{border-bottom-style:dashed}
.word.void span{border-bottom-style:dotted}
.verdict{display:inline-block;font-size:.8rem;font-weight:bold;text-transform:uppercase;line-height:1.3;padding:.05rem .4rem;border:1.5px solid currentColor;white-space:nowrap}
.verdict.fail{border:3px double currentColor}
.verdict.inconclusive{border-style:dashed}
.verdict.void,.verdict.unsettled{border-style:dotted;border-width:2px}
.plate{background:var(--plate);color:var(--on-plate);padding:.5rem .8rem}
.concerns{list-style:none;padding:0}
.concerns li{margin:.35rem 0}
.diagnosis{border-left:4px solid var(--line);padding-left:.9rem}
dl.pairs{display:grid;grid-template-columns:minmax(7rem,max-content) 1fr;gap:.1rem 1rem}
dt{color:var(--faint)}
dd{margin:0}
table{border-collapse:collapse;width:100%;font-size:.93rem;font-variant-numeric:tabular-nums}
caption{text-align:left;font-size:.86rem;padding:.2rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid var(--chart-main);font-weight:normal}
thead th{color:var(--faint);font-size:.86rem;border-bottom:1px solid var(--line)}
tbody th{font-weight:600}
.figure{white-space:nowrap}
.trials{font-size:.86rem}
.trials td,.trials th{padding-block:.12rem}
.scenario{margin-bottom:2.4rem}
figure{margin-inline:0}
.scroll{overflow-x:auto;background:var(--chart-paper);border:1px solid var(--line)}
.scroll .chart{width:100%;min-width:44rem;height:auto}
details{border-bottom:1px solid var(--chart-main)}
summary{cursor:pointer;padding:.4rem 0;color:var(--link)}
summary .digest{display:block;color:var(--faint)}
pre{background:var(--sheet);padding:.7rem;overflow-x:auto;overflow-wrap:normal;line-height:1.4}
.steps{list-style:none;padding:0}
.steps li{display:grid;grid-template-columns:6rem 1fr}
.steps span{font-variant-numeric:tabular-nums}
footer{border-top:1px solid var(--line);margin-top:2.4rem}
@media screen and (max-width:44rem){
.strip{grid-template-columns:1fr}
.cards thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.cards,.cards tbody,.cards tr,.cards th,.cards td,.cards caption{display:block}
.cards tr{border-bottom:1px solid var(--line);padding:.5rem 0}
.cards th,.cards td{border:0;padding:.1rem 0}
.cards td[data-label]::before{content:attr(data-label) ": ";color:var(--faint)}
.cards td[data-label=verdict]::before{content:none}
.cards td.none{display:none}
figcaption::before{content:"Push the chart sideways to see all of it. "}
dl.pairs{grid-template-columns:1fr}
dd{margin-bottom:.4rem}
}
@media print{
:root{--paper:#fff;--sheet:#fff;--chart-paper:#fff}
@page{margin:15mm}
html{font-size:9.5pt}
body{max-width:none;padding:0}
nav,.skip{display:none}
a{color:inherit;text-decoration:none}
h2,h3,caption,summary{break-after:avoid}
tr,figure,.strip,dd{break-inside:avoid}
.scroll{overflow:visible}
.scroll .chart{min-width:0;max-height:92mm}
.plate{background:none;color:#000;border:3px solid #000}
pre{white-space:pre-wrap;overflow:visible}
}
`
