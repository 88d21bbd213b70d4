{% macro script(this, kwargs) %}
    var fieldmapParts = {
        map: {{ this.shown.get_name() }},
        ground: {{ this.ground.get_name() }},
        pictures: {
            {%- for key, layers in this.pictures.items() %}
            "{{ key }}": [{% for layer in layers -%}
                {{ layer.get_name() if layer else "null" }},
            {%- endfor %}],
            {%- endfor %}
        },
    };
{% endmacro %}
