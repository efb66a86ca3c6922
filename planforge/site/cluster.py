"""Workers of a Dask cluster, through the same interface as processes of this machine; needs the extra.

The lots are read and drawn there and written here, by one process: the folder of the plans and the register
need not be seen from the cluster, but the site file and what its lots build upon do, under the same paths.
The workers need the same version of planforge and of the libraries it draws with; another one would write
other bytes, so that it is refused before the first lot.
"""

from __future__ import annotations

import contextlib
import zlib
from concurrent.futures import Executor
from importlib import import_module, metadata
from typing import Any, Final

from planforge import __version__
from planforge.errors import PlanforgeError
from planforge.register.decision import templates_digest
from planforge.site.pool import Crew

_LIBRARIES: Final = ("distributed", "dask", "tornado")
_DRAWN_WITH: Final = ("numpy", "scipy", "shapely", "pydantic", "reportlab", "matplotlib", "jinja2")
_WAIT: Final = "20s"


def on_cluster(address: str) -> Crew:
    """The workers that the scheduler at ``address`` (such as ``tcp://10.0.0.5:8786``) has now.

    Raises :class:`PlanforgeError` where the extra is missing, nobody answers, there are no workers, or they
    differ from this machine in what the bytes of a plan depend on.
    """
    client = _client(address)
    try:
        width = len(client.nthreads())  # a process works on one lot at a time, however many threads it has
        if not width:
            raise PlanforgeError(f"the cluster at {address} has no workers; start some, and try again.")
        _refuse_unlike(client.run(versions))
    except ModuleNotFoundError as error:
        client.close()
        raise PlanforgeError(
            f"the workers of the cluster at {address} lack {error.name}; install planforge there, in the "
            "same version."
        ) from error
    except BaseException:
        client.close()
        raise

    def leave(executor: Executor) -> None:
        """Give up what is on its way, and the connection."""
        with contextlib.suppress(Exception):  # the cluster may be gone already
            executor.shutdown(wait=False)
            client.close()

    return Crew(lambda _: client.get_executor(pure=False), width, leave, elsewhere=True)


def versions() -> dict[str, str]:
    """What the bytes of a plan depend on beside its job: versions, and the templates' digest."""
    found = {name: metadata.version(name) for name in _DRAWN_WITH}
    own = {"planforge": __version__, "its templates": templates_digest()[:16]}
    return {**own, **found, "zlib": zlib.ZLIB_RUNTIME_VERSION}


def _refuse_unlike(theirs: dict[str, dict[str, str]]) -> None:
    here = versions()
    unlike = [
        f"{worker} has {name} {there.get(name, 'not at all')}, this machine {own}"
        for worker, there in sorted(theirs.items())
        for name, own in here.items()
        if there.get(name) != own
    ]
    if unlike:
        raise PlanforgeError(
            f"the cluster would not write the bytes that this machine does: {'; '.join(unlike[:5])}"
            f"{f' and {len(unlike) - 5} more' if len(unlike) > 5 else ''}. Bring both to the same versions."
        )


def _client(address: str) -> Any:
    try:
        distributed = import_module("distributed")
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in _LIBRARIES:
            raise
        raise PlanforgeError(
            "issuing on a cluster needs planforge's extra 'cluster': pip install 'planforge[cluster]'"
        ) from error
    try:
        return distributed.Client(address, timeout=_WAIT)
    except (OSError, TimeoutError, ValueError) as error:
        raise PlanforgeError(
            f"no scheduler answers at {address} ({error}); give it as it prints it, such as "
            "tcp://10.0.0.5:8786."
        ) from error
