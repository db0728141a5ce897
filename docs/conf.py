"""Sphinx builds these pages with warnings as errors: ``sphinx-build -W -b html docs docs/_build/html``."""

from benchrig import __version__

project = "benchrig"
author = "The benchrig maintainers"
project_copyright = "2026, The benchrig maintainers"
release = __version__

extensions = ["myst_parser"]
myst_enable_extensions = ["attrs_inline", "colon_fence", "deflist", "dollarmath"]
myst_heading_anchors = 3
exclude_patterns = ["_build", "cautions.md"]

html_theme = "furo"
html_title = f"benchrig {release}"
html_show_sourcelink = False
html_copy_source = False
