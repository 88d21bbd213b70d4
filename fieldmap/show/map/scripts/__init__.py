"""The page's scripts: small files of plain JavaScript, put into the page in this order."""

# Files of the drawing, by their path relative to `show`.
DRAWING = tuple(
    f"map/scripts/draw_{name}.js"
    for name in (
        *("frame", "palette", "ground", "beds", "things", "air"),
        *("labels", "clear", "names", "plot_names", "callouts"),
        *("furniture", "signs", "swatches", "choice", "field"),
    )
)
# What stands around it: each one idea.
PAGE = tuple(
    f"map/scripts/page_{name}.js"
    for name in (
        *("data", "map", "looks", "folds", "answers", "grows", "tonight", "film"),
        *("tables", "readings", "place", "measure", "callout", "find", "signs"),
        *("print", "start"),
    )
)
