"""The script that draws charts in the page, taken out of the chart library's own package.

One version of the drawing code for page and paper: two would give two charts.
"""

from importlib.metadata import version
from pathlib import Path

#: The Vega-Lite version charts are written for, among those the package carries.
VEGA_LITE_VERSION = "6.4"
#: All that charts.js needs of it.
SNIPPET = "window.vegaEmbed = vegaEmbed;"
BUNDLE = Path(__file__).resolve().parent / "static" / "pages" / "built" / "chart-library.js"


def chart_bundle_build(target: Path = BUNDLE) -> bool:
    """Write the bundle, unless this version of it is there; whether it was written."""
    made_of = (
        f"// vl-convert-python {version('vl-convert-python')}, Vega-Lite {VEGA_LITE_VERSION}\n"
    )
    if target.exists():
        with target.open(encoding="utf-8") as file:
            if file.readline() == made_of:
                return False
    # Imported here: a process forked after its first use would hang.
    import vl_convert

    script = vl_convert.javascript_bundle(SNIPPET, vl_version=VEGA_LITE_VERSION)
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_suffix(".unfinished")
    unfinished.write_text(made_of + script, encoding="utf-8")
    unfinished.replace(target)
    return True
