"""An executed notebook as one HTML page: its words, tables and pictures in the house style, code on request only."""

from __future__ import annotations

import base64
import re
from html import escape
from typing import Any

from costmodel.cautions import INVENTED, INVENTED_WORDS
from costmodel.page.style import CSS, INK, PALE, POLICY, RULE

NARROW = 450
"""Pixels: so wide a picture can still be read where a phone shows the whole of it."""

MORE_CSS = f"""
body {{ max-width: 58rem; }}
h2 {{ font-size: 1.15rem; margin: 1.2rem 0 0.3rem; }}
.shown .answer {{ margin: 0.4rem 0; }}
.shown .answer .word {{ display: block; margin: 0 0 0.3rem; line-height: 1.2; }}
.shown {{ margin: 0.5rem 0; overflow-x: auto; }}
.shown img {{ width: auto; max-width: 100%; }}
.shown table {{ width: auto; min-width: 50%; }}
.shown caption {{ max-width: calc(100vw - 2rem); }}
.shown th, .shown td {{ padding-right: 0.8rem; }}
.shown tbody th {{ min-width: 7.5rem; }}
.shown tbody th.n {{ min-width: 0; }}
.shown td:not(.n) {{ min-width: 5rem; }}
@media (max-width: 40rem) {{ .shown img {{ max-width: none; width: 38rem; }}
  .shown img.narrow {{ max-width: 100%; width: auto; }} .shown tbody th {{ min-width: 6.5rem; }} }}
.shown small a {{ color: {INK}; }}
pre {{ background: {PALE}; padding: 0.4rem 0.6rem; overflow-x: auto; white-space: pre-wrap; font-size: 0.85rem; }}
p code, li code {{ background: {PALE}; padding: 0 0.2rem; }}
@media print {{
  html {{ font-size: 8.5pt; }}
  .shown {{ overflow-x: visible; }}
  .shown img {{ width: auto; max-width: 100%; }}
  .shown table {{ font-size: 0.86em; }}
  .shown th, .shown td {{ padding-right: 0.55rem; }}
  .shown tbody th, .shown td:not(.n) {{ min-width: 0; }}
  table, img {{ break-inside: avoid; }}
  thead {{ display: table-header-group; }}
  tr {{ break-inside: avoid; }}
  h2 {{ break-after: avoid; border-top: 0.06rem solid {RULE}; padding-top: 0.3rem; }}
}}
"""

TEMPLATE = """{%- macro output(item) -%}
{%- if item.output_type in ("display_data", "execute_result") -%}
<div class="shown" tabindex="0">{{ item | shown }}</div>
{%- elif item.output_type == "stream" and item.name == "stdout" -%}
<pre>{{ item.text | e }}</pre>
{%- endif -%}
{%- endmacro -%}
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{{ policy }}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{ title | e }}</title>
<style>{{ css }}</style>
</head>
<body>
<main>
{% if banner %}<p class="banner">{{ banner | e }}</p>{% endif %}
{% for cell in nb.cells -%}
{%- if cell.cell_type == "markdown" %}
{{ cell.source | markdown2html | strip_files_prefix }}
{%- elif cell.cell_type == "code" -%}
{%- if with_code and cell.source %}
<pre tabindex="0"><code>{{ cell.source | e }}</code></pre>
{%- endif -%}
{%- for item in cell.outputs %}
{{ output(item) }}
{%- endfor -%}
{%- endif -%}
{%- endfor %}
</main>
</body>
</html>
"""


def page_of(notebook: Any, *, code: bool = False) -> str:
    """The page as text."""
    import nbconvert
    from traitlets.config import Config

    library: Any = nbconvert  # has no type information of its own
    exporter = library.HTMLExporter(
        config=Config({"HTMLExporter": {"exclude_anchor_links": True}}), raw_template=TEMPLATE
    )
    exporter.register_filter("shown", _shown)
    resources = {"metadata": {"name": title_of(notebook)}}
    exporter.environment.globals.update(
        css=CSS + MORE_CSS, policy=POLICY, title=title_of(notebook), with_code=code, banner=_banner(notebook)
    )
    text, _ = exporter.from_notebook_node(notebook, resources=resources)
    return re.sub(r"\n{3,}", "\n\n", str(text)).strip() + "\n"


def title_of(notebook: Any) -> str:
    """The question on top of a notebook."""
    for cell in notebook.cells:
        if cell.cell_type == "markdown" and cell.source.startswith("# "):
            return str(cell.source.splitlines()[0][2:].strip())
    return "Notebook"


def _banner(notebook: Any) -> str:
    """The words on top of a page that any output of it calls invented."""
    outputs = (output for cell in notebook.cells for output in cell.get("outputs", ()))
    told = any(INVENTED in str(output.get("data", {})) for output in outputs)
    return INVENTED_WORDS if told else ""


def _shown(item: Any) -> str:
    """One output as HTML: a picture with its words, a table with its file, else text."""
    data = item["data"]
    if "image/png" in data:
        words = item.get("metadata", {}).get("image/png", {}).get("alt") or data.get("text/plain", "")
        picture = "".join(data["image/png"].split())
        narrow = ' class="narrow"' if _width(picture) <= NARROW else ""
        return f'<img{narrow} src="data:image/png;base64,{picture}" alt="{escape(words)}">'
    if "text/html" in data:
        return f"{data['text/html']}{_file(data)}"
    return f"<pre>{escape(data.get('text/plain', ''))}</pre>"


def _width(picture: str) -> int:
    """The width of a PNG in pixels, from its header."""
    return int.from_bytes(base64.b64decode(picture[:40])[16:20], "big")


def _file(data: Any) -> str:
    if "text/csv" not in data:
        return ""
    caption = re.search(r"<caption>([^<]*)", data["text/html"])
    words = caption.group(1).strip() if caption else "table"
    name = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:60] or "table"
    text = base64.b64encode(("\ufeff" + data["text/csv"]).encode()).decode()
    return (
        f'<small class="screen"><a download="{name}.csv" href="data:text/csv;base64,{text}" '
        f'aria-label="{escape(words)} as a CSV file">as a CSV file</a></small>'
    )
