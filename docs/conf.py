"""The documentation site: `sphinx-build docs site` (extra `ifclint[docs]`)."""

from ifclint import __version__

project = "ifclint"
author = "The ifclint authors"
version = release = __version__
extensions = ["myst_parser"]
html_theme = "alabaster"
html_theme_options = {
    "description": "Plumbing reviews of IFC building models",
    "page_width": "64rem",
}
exclude_patterns = ["recipes", "pack-template"]
myst_heading_anchors = 3
# pages taken in from elsewhere link to their own folders
suppress_warnings = ["myst.xref_missing", "misc.highlighting_failure"]
