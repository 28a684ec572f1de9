"""How the sheets look on a screen, from a phone up, and where somebody prints them all the same: black, white, grey."""

from griddesign.papers import typefaces
from griddesign.papers.blocks import BODY_PT
from griddesign.papers.html.content import SHARES, SIZES_PT

_RULES = """
html{font:100%/1.35 "FAMILY",Verdana,system-ui,sans-serif;color-scheme:light;-webkit-text-size-adjust:100%}
body{margin:0 auto;padding:0 .75rem 3rem;max-width:62rem;color:#000;background:#fff}
h1,h2,h3,p,li,dt,dd,th,td,figcaption{white-space:pre-wrap;overflow-wrap:anywhere}
h1{font-size:1.5rem;line-height:1.2;margin:1rem 0 .5rem}
h2{font-size:1.6rem;line-height:1.15;margin:0}
h3{font-size:1.14rem;margin:1.5rem 0 .4rem}
p{margin:.5rem 0}
ul,ol{margin:.5rem 0;padding-left:1.6rem}
li{margin:.2rem 0}
a{color:#000}
svg{max-width:100%;height:auto;vertical-align:middle}
svg text{white-space:pre}
figure{margin:1rem 0;text-align:center}
figcaption,.key dt,.key dd{font-size:.82rem}
figure+figure{margin-top:1.5rem}
.b,.key dd.b{font-weight:bold}
.scroll{overflow-x:auto;background:
linear-gradient(90deg,#fff 40%,#fff0) left/2rem 100% no-repeat local,
linear-gradient(270deg,#fff 40%,#fff0) right/2rem 100% no-repeat local,
linear-gradient(90deg,#0005,#0000) left/.6rem 100% no-repeat scroll,
linear-gradient(270deg,#0005,#0000) right/.6rem 100% no-repeat scroll}
.screen{border:2px solid #000;padding:.4rem .6rem;font-weight:bold}
nav ol{list-style:none;padding:0}
nav li{border-bottom:1px solid #999;margin:0}
nav a{display:block;padding:.6rem 0;font-weight:bold}
nav p{margin:0 0 .5rem}
.sheet{position:relative;isolation:isolate;overflow:clip;margin:3rem 0 0;padding-bottom:1rem}
.band{border:solid #000;border-width:3px 0}
.band>div{display:flex;flex-wrap:wrap;gap:.5rem 1rem;padding:.5rem 0}
.band>div>div{flex:1 1 16rem}
.band p{margin:.1rem 0}
.band .side{flex:0 1 13rem;border-left:1px solid #000;padding-left:.6rem}
.warn{border:2px solid #000;padding:.2rem .5rem;text-align:center;font-weight:bold;background:#fff}
.band .order{border-top:1px solid #000;font-weight:bold;font-size:1.09rem;padding:.4rem 0}
.across{position:sticky;top:0;height:0;z-index:-1}
.across svg{display:block;margin:0 auto;width:100%;max-width:100%;height:100vh}
.key{display:flex;flex-wrap:wrap;gap:.8rem;margin:1rem 0}
.key div{flex:1 1 9rem;border-left:2px solid #000;padding-left:.6rem}
.key dd{margin:0}
.box{border:1px solid #000;padding:.1rem .6rem;margin:1rem 0;background:#fff}
.heavy{border-width:3px}
.beside{display:flex;flex-wrap:wrap;gap:0 1.25rem}
.beside>div{flex:1 1 13rem;min-width:0}
.gap{height:1rem}
.foot{border-top:1px solid #000;margin-top:1.5rem;padding-top:.3rem}
table{border-collapse:collapse;width:100%;margin:.8rem 0}
th,td{text-align:left;vertical-align:top;padding:.2rem .35rem;overflow-wrap:break-word}
th{vertical-align:bottom;border-bottom:2px solid #000}
.ruled td{border-bottom:1px solid #999}
.fill td{height:9mm;vertical-align:middle}
th.r,td.r{text-align:right}
td.r{white-space:pre}
th.c,td.c{text-align:center}
td.n{border:solid #000;border-width:0 1px 1px;min-width:22mm}
.everywhere{display:none}
"""
_MEDIA = """@media screen and (max-width:40rem){
.wide{min-width:125mm}
.broad{min-width:175mm}
.beside>div[class]{flex-basis:100%}
td.n{min-width:10mm}
.band .side{flex-basis:100%;border-left:0;padding-left:0}
.stack,.stack tbody,.stack tr,.stack td{display:block;width:auto;height:auto}
.stack thead{display:none}
.stack tr{border-bottom:2px solid #000;padding:.3rem 0}
.stack td,.stack td.r,.stack td.c{border:0;padding:.1rem 0;text-align:left;white-space:pre-wrap;overflow-wrap:anywhere}
.stack td:empty{display:none}
.stack td[data-h]::before{content:attr(data-h) ": ";font-weight:normal;color:#444}
}
@media print{
html{font-size:10pt}
body{max-width:none;padding:0}
nav,.across,.foot a{display:none}
.everywhere{display:flex;position:fixed;inset:0;z-index:-1;align-items:center;justify-content:center}
.everywhere p{flex:none;max-width:240mm;transform:rotate(-54deg);margin:0;text-align:center;
font:bold 22pt/1.9 sans-serif;color:transparent;-webkit-text-stroke:.3mm #bfbfbf}
.sheet{break-before:page;margin:0;isolation:auto;overflow:visible}
.box,.warn{background:none}
.turn{break-before:page}
.scroll{overflow:visible;background:none}
h3,.band{break-after:avoid}
tr,figure,.key div,.box p,li{break-inside:avoid}
@page{margin:15mm 12mm 15mm 20mm}
}
"""

_SIZES = "".join(f".t{size},.key .t{size}{{font-size:{size / BODY_PT:.2f}rem}}\n" for size in SIZES_PT)
_SHARES = "".join(f".beside>.s{share}{{flex-grow:{share};flex-basis:{min(share, 30)}%}}\n" for share in SHARES)
STYLE = _RULES.replace("FAMILY", typefaces.FAMILY) + _SIZES + _SHARES + _MEDIA
"""The one style element. It has no text of a user in it."""
