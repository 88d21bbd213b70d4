{% macro script(this, kwargs) %}
    var fieldmapParts = { map: {{ this.shown.get_name() }} };
{% endmacro %}
