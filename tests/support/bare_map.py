"""A page with nothing but the drawn map: what the drawing is looked at on."""

import json

from jinja2 import Template
from made_up import plane

from fieldmap.show.html import text_of
from fieldmap.show.map import offline
from fieldmap.show.map.page import map_parts
from fieldmap.show.map.scripts import DRAWING

# What folium's map lays under the drawing, where nobody sees it.
LEVEL = plane(4, 4)
PAGE = Template(
    """<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>map</title>{{ head }}<style>
html, body { margin: 0; height: 100%; } .folium-map { position: absolute !important; inset: 0; }
.leaflet-container { background: #fbf8f0; }
</style></head><body>{{ body }}
<script type="application/json" id="scene">{{ scene }}</script>
<script>{{ script }}</script>
{% for text in scripts %}<script>{{ text }}</script>{% endfor %}
<script>
const field = fieldDrawing.on(fieldmapParts.map, JSON.parse(document.getElementById("scene").textContent));
field.whole();
field.ready.then(() => { field.repaint(); window.fieldmap = { map: fieldmapParts.map, field }; });
</script></body></html>"""
)


def page(drawn):
    """A page of a scene."""
    parts = map_parts(LEVEL)
    text = PAGE.render(
        head=parts.head,
        body=parts.body,
        script=parts.script,
        scene=json.dumps(drawn).replace("<", "\\u003c"),
        scripts=[text_of(name) for name in DRAWING],
    )
    return offline.inlined(text)
