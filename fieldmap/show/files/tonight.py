"""Tonight's list as one page for the shed wall: offline, no scripts, black on white."""

from __future__ import annotations

from typing import TYPE_CHECKING

import jinja2

from fieldmap.show.files import one_file
from fieldmap.show.text import language
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.decide.tonight import Tonight

# Stands in every page, so that no file but such a page is written over.
MARK = '<meta name="generator" content="fieldmap tonight">'
PAGE = """\
<!doctype html>
<html lang="{{ language.code }}"{{ ' dir="rtl"'|safe if language.right_to_left }}>
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'">
{{ mark | safe }}
<title>{{ tonight.heading }}</title>
<style>
body { font: 1.4rem/1.4 sans-serif; color: #000; background: #fff;
  max-width: 48rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
h1 { font-size: 2rem; line-height: 1.2; margin: 0 0 1rem; }
h2 { font-size: 1.7rem; margin: 1.5rem 0 .3rem; border-bottom: 3px solid #000;
  break-after: avoid; }
p, ul { margin: 0 0 .6rem; }
li { break-inside: avoid; margin-bottom: .3rem; }
.written { border-bottom: 1px solid #000; display: inline-block; width: 10rem; }
section.cautions { border: 3px solid #000; padding: .5rem 1rem; margin-top: 1.5rem;
  break-inside: avoid; }
@media print { @page { margin: 12mm; } body { font-size: 15pt; padding: 0;
  max-width: none; } h1 { font-size: 22pt; } h2 { font-size: 18pt; } }
</style>
</head>
<body>
<main>
<h1>{{ tonight.heading }}</h1>
<p>{{ evening_of }} <span class="written">&nbsp;</span></p>
{% for said in tonight.first %}
<p>{{ said }}</p>
{% endfor %}
{% for here in tonight.plots %}
<h2>{{ here.plot }}</h2>
<ul>
{% for said in here.sentences %}
<li>{{ said }}</li>
{% endfor %}
</ul>
{% endfor %}
<section class="cautions">
{% for said in tonight.cautions %}
<p>{{ said }}</p>
{% endfor %}
</section>
</main>
</body>
</html>
"""


def page(tonight: Tonight) -> str:
    """One HTML page; everything that was read from files is escaped."""
    environment = jinja2.Environment(
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    return environment.from_string(PAGE).render(
        tonight=tonight,
        mark=MARK,
        evening_of=_("Evening of:"),
        language=language.current(),
    )


def check_place(file: Path) -> None:
    """Raise PlanError unless the page may be written there."""
    one_file.check_place(
        file,
        (".html", ".htm"),
        lambda text: MARK in text,
        _(
            "{file} is not a page of an earlier evening, so it is left alone; give another "
            "name with --out, or move it away"
        ),
    )


def write(tonight: Tonight, file: Path) -> None:
    """Write the page whole or not at all; see `single.write`."""
    check_place(file)
    one_file.write(page(tonight), file)
