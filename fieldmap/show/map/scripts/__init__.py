"""The page's scripts: small files of plain JavaScript, put into the page in this order."""

# Files of the drawing, by their path relative to `show`.
DRAWING = tuple(
    f"map/scripts/draw_{name}.js"
    for name in (
        *("frame", "palette", "ground", "beds", "things", "air"),
        *("labels", "names", "furniture", "swatches", "choice", "field"),
    )
)
