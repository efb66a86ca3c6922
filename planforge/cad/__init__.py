"""Drawings from and to DXF.

The DXF library looks for fonts when it is loaded and keeps the list in the user's home. planforge needs no
font of it and leaves the home alone: while it loads, its folders point to a temporary one with an empty list.
"""

from __future__ import annotations

import logging
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_FOLDERS = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME")
_NO_FONTS = '{"version": 0, "font-faces": []}'


@contextmanager
def _away_from_home() -> Iterator[None]:
    before = {name: os.environ.get(name) for name in _FOLDERS}
    with tempfile.TemporaryDirectory() as folder:
        fonts = Path(folder) / "ezdxf" / "font_manager_cache.json"
        fonts.parent.mkdir()
        fonts.write_text(_NO_FONTS, "utf-8")
        os.environ.update(dict.fromkeys(_FOLDERS, folder))
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value


# what the library has to say is asked of it and worded here, never printed past planforge
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

if "ezdxf" not in sys.modules:
    with _away_from_home():
        import ezdxf  # noqa: F401
