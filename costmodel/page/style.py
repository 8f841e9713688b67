"""How the decision page looks on a screen, in print and in grey. Text on its ground keeps a contrast of 4.5 or more."""

from __future__ import annotations

INK = "#20262e"
MUTED = "#4c5661"
GROUND = "#ffffff"
PALE = "#eef1f3"
RULE = "#9aa4ae"
BANNER = "#20262e"
BANNER_INK = "#ffffff"

PAIRS = ((INK, GROUND), (INK, PALE), (MUTED, GROUND), (MUTED, PALE), (BANNER_INK, BANNER))
"""Every ink with the ground it stands on."""

# No fetch of any kind can leave a page, whatever has been put into it.
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"

CSS = f"""
html {{ font-size: 15px; }}
body {{ margin: 0 auto; padding: 1rem; max-width: 66rem; background: {GROUND}; color: {INK};
  font-family: "Liberation Sans", Arial, Helvetica, sans-serif; line-height: 1.3; }}
h1 {{ font-size: 1.5rem; margin: 0.3rem 0 0.2rem; line-height: 1.15; }}
h2 {{ font-size: 1.02rem; margin: 0 0 0.2rem; line-height: 1.2; }}
h3 {{ font-size: 1rem; margin: 0.8rem 0 0.3rem; }}
p {{ margin: 0 0 0.25rem; }}
ul {{ margin: 0; padding-left: 1.1rem; }}
li {{ margin: 0 0 0.12rem; }}
section {{ margin: 0 0 0.6rem; }}
.banner {{ background: {BANNER}; color: {BANNER_INK}; padding: 0.2rem 0.6rem; font-weight: bold;
  -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
.meta, small, .unit {{ color: {MUTED}; font-weight: normal; }}
.answer {{ border: 0.14rem solid {INK}; padding: 0.4rem 0.6rem; margin-bottom: 0.6rem; }}
.run h2, .run p, .answer h2, .answer .word {{ display: inline; margin-right: 0.5rem; }}
.answer .word {{ font-size: 1.35rem; font-weight: bold; }}
.figures {{ display: grid; grid-template-columns: 1fr 1fr 1fr 1.9fr; gap: 0.6rem; margin: 0.3rem 0 0; }}
.figures div {{ border-left: 0.2rem solid {RULE}; padding-left: 0.5rem; }}
.figures dt {{ font-size: 0.85rem; }}
.figures dd {{ margin: 0; font-size: 1.12rem; font-weight: bold; }}
.figures dd small {{ display: block; font-size: 0.8rem; }}
.two {{ display: grid; grid-template-columns: 1fr 1fr; gap: 1rem; }}
.wide {{ display: grid; grid-template-columns: 1.65fr 1fr; gap: 1rem; }}
.three {{ display: grid; grid-template-columns: 1fr 1.12fr 1.12fr; gap: 1rem; }}
.scroll {{ overflow-x: auto; }}
.alternatives thead th:first-child {{ width: 34%; }}
img {{ width: 100%; height: auto; display: block; }}
table {{ border-collapse: collapse; width: 100%; font-size: 0.92rem; line-height: 1.2; }}
caption {{ text-align: left; font-weight: bold; padding-bottom: 0.15rem; }}
.scroll caption {{ max-width: calc(100vw - 2rem); }}
main caption {{ font-weight: normal; font-size: 0.92em; color: {MUTED}; }}
caption small {{ font-size: 0.82rem; }}
th, td {{ text-align: left; vertical-align: top; padding: 0.1rem 0.4rem 0.1rem 0; font-weight: normal;
  border-bottom: 0.06rem solid {PALE}; }}
thead th {{ vertical-align: bottom; font-weight: bold; border-bottom: 0.1rem solid {INK}; }}
.n {{ text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
thead .n {{ white-space: normal; }}
.total th, .total td {{ font-weight: bold; border-top: 0.1rem solid {INK}; }}
.chosen th, .chosen td {{ background: {PALE}; font-weight: bold;
  -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
.sign {{ display: grid; grid-template-columns: repeat(4, 1fr); gap: 1rem; }}
.sign p {{ border-top: 0.1rem solid {INK}; margin-top: 1.9rem; padding-top: 0.1rem; font-size: 0.85rem; }}
.small {{ font-size: 0.85rem; line-height: 1.25; }}
footer {{ border-top: 0.06rem solid {RULE}; padding-top: 0.2rem; font-size: 0.82rem; color: {MUTED}; }}
details {{ margin: 0.3rem 0; }}
summary {{ cursor: pointer; }}
.behind {{ border-top: 0.1rem solid {INK}; margin-top: 1.5rem; padding-top: 0.6rem; }}
.behind table {{ margin: 0.5rem 0; }}
@media (max-width: 50rem) {{ .two, .wide, .three, .figures, .sign {{ grid-template-columns: 1fr; }}
  .figures {{ grid-template-columns: 1fr 1fr; }} }}
@page {{ margin: 8mm 10mm; }}
@media print {{
  html {{ font-size: 7.3pt; }}
  html.dense {{ font-size: 6.2pt; }}
  html.dense .wide img {{ width: 88%; }}
  body {{ padding: 0; max-width: none; line-height: 1.22; }}
  .two, .wide, .three {{ gap: 0.9rem; }}
  .figures {{ grid-template-columns: 1fr 1fr 1fr 1.9fr; }}
  .wide {{ grid-template-columns: 1.65fr 1fr; }}
  .two {{ grid-template-columns: 1fr 1fr; }}
  .three {{ grid-template-columns: 1fr 1.12fr 1.12fr; }}
  .sign {{ grid-template-columns: repeat(4, 1fr); }}
  section {{ margin-bottom: 0.45rem; }}
  .scroll {{ overflow-x: visible; }}
  .screen, .behind {{ display: none; }}
}}
"""
