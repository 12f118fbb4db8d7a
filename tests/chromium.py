"""The browsers that the tests drive: the whole one, and its engine alone.

The whole browser draws its own controls for each window, half a CPU-second a time, even where
nobody sees them. The engine alone (Debian: chromium-headless-shell, of the same source and version)
draws the page and nothing else. What rests on the browser around the page takes the whole one:
installed pages, stores on a disk, a browser that is killed.
"""

import os
from pathlib import Path

WHOLE = os.environ.get("CHROMIUM", "/usr/bin/chromium")
_SHELL = "/usr/bin/chromium-headless-shell"
ENGINE = os.environ.get("CHROMIUM") or (_SHELL if Path(_SHELL).exists() else WHOLE)
