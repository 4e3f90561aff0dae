"""Finished presses kept on disk: the same press asked for again costs a look.

A file each, named by what was asked; plain arrays without pickles. A damaged file counts as none and is
written anew; files appear whole or not at all; beyond the cap those not used for longest go.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import tempfile
import zipfile
from dataclasses import asdict, fields
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.chain import Chain
from patternsim.flow.march import Flowed, march
from patternsim.flow.mesh import Mesh
from patternsim.flow.operation import Operation
from patternsim.flow.report import Report, Worst
from patternsim.flow.settings import Symmetry, even
from patternsim.progress import Progress

Arrays = dict[str, NDArray[Any]]

CAP_BYTES = 300_000_000
ROUNDED = 6
"""Decimals of the section's points that tell presses apart, over its larger extent."""
ENDING = ".flow.npz"
MESH, CHAIN = "mesh_", "chain_"


class Store:
    """A folder of finished presses.

    Parameters
    ----------
    folder : Path
        Made when first written to.
    cap : int
        Bytes that may lie there.
    """

    def __init__(self, folder: Path, *, cap: int = CAP_BYTES) -> None:
        self._folder, self._cap = folder, cap

    def get(self, key: str) -> Flowed | None:
        """Return the press kept under a key; None if there is none, or it cannot be read."""
        path = self._folder / (key + ENDING)
        try:
            with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
                found = _unpacked({name: kept[name] for name in kept.files})
        except FileNotFoundError:
            return None
        except (OSError, EOFError, ValueError, KeyError, TypeError, zipfile.BadZipFile):
            with contextlib.suppress(OSError):
                path.unlink()
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return found

    def put(self, key: str, flowed: Flowed) -> None:
        """Keep a press; a folder that cannot be written to is no reason to stop."""
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    np.savez_compressed(file, **_packed(flowed))  # type: ignore[arg-type]
                Path(name).replace(self._folder / (key + ENDING))
            finally:
                Path(name).unlink(missing_ok=True)
            self._make_room()

    def _make_room(self) -> None:
        files = sorted(self._folder.glob("*" + ENDING), key=lambda path: path.stat().st_mtime)
        total = sum(path.stat().st_size for path in files)
        for path in files[:-1]:
            if total <= self._cap:
                return
            total -= path.stat().st_size
            path.unlink(missing_ok=True)


def solved(operation: Operation, store: Store | None, progress: Progress | None = None) -> Flowed:
    """Work a press out, or take it from the store.

    Raises
    ------
    FlowError, Cancelled
        As `march`; nothing is kept then.
    """
    key = key_of(operation)
    if store is None or key is None:
        return march(operation, progress)
    found = store.get(key)
    if found is None:
        found = march(operation, progress)
        store.put(key, found)
    return found


def key_of(operation: Operation) -> str | None:
    """Return what a press is kept under; None where its steel is not the same throughout.

    The section goes in scaled to 1, so that one press serves all sizes only where everything else scales
    along; tools, stops, settings and the code itself go in as they are.
    """
    if operation.strength is not even:
        return None
    mesh = operation.mesh
    scale = float(np.ptp(mesh.nodes, axis=0).max())
    digest = hashlib.sha256(_code().encode())
    digest.update(np.round(mesh.nodes / scale, ROUNDED).tobytes())
    digest.update(mesh.triangles.tobytes())
    for name, line in sorted(operation.lines.items()):
        digest.update(name.encode() + np.round(np.asarray(line, dtype=float) / scale, ROUNDED).tobytes())
    told = [
        f"{one.name}={getattr(operation, one.name)!r}"
        for one in fields(operation)
        if one.name not in ("mesh", "lines", "strength", "size")
    ]
    told.append(f"{scale!r} {operation.size.coarsest!r} {type(operation.size).__name__}")
    digest.update("\n".join(told).encode())
    return digest.hexdigest()[:40]


@cache
def _code() -> str:
    """Return a digest of this package: what was worked out by other code is not the same."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


# --- in and out of arrays ---------------------------------------------------------------------


def _packed(flowed: Flowed) -> Arrays:
    mesh, report = flowed.mesh, flowed.report
    told = asdict(report)
    series = {name: told.pop(name) for name in ("force", "side", "width")}
    stroke = told.pop("stroke")
    names = list(series["force"])
    words = json.dumps(
        {"report": told, "tools": names, "symmetry": asdict(flowed.symmetry), "vertices": mesh.vertices}
    )
    return {
        "words": np.frombuffer(words.encode(), dtype=np.uint8),
        "stroke": stroke,
        **{kind: np.array([series[kind][name] for name in names]) for kind in series},
        MESH + "nodes": mesh.nodes,
        MESH + "triangles": mesh.triangles,
        MESH + "loop": mesh.loop,
        "strain": flowed.strain,
        "damage": flowed.damage,
        "moved": flowed.moved,
        **{CHAIN + name: array for name, array in flowed.chain.to_arrays().items()},
    }


def _unpacked(kept: Arrays) -> Flowed:
    words = json.loads(bytes(kept["words"]).decode())
    names: list[str] = words["tools"]
    told: dict[str, Any] = words["report"]
    told["damage"] = _worst(told["damage"])
    told["tension"] = {name: _worst(one) for name, one in told["tension"].items()}
    told["strain"] = tuple(told["strain"])
    return Flowed(
        mesh=Mesh(
            kept[MESH + "nodes"],
            kept[MESH + "triangles"],
            words["vertices"],
            kept[MESH + "loop"],
        ),
        chain=Chain.from_arrays(
            {name.removeprefix(CHAIN): array for name, array in kept.items() if name.startswith(CHAIN)}
        ),
        report=Report(
            stroke=kept["stroke"],
            force=dict(zip(names, kept["force"], strict=True)),
            side=dict(zip(names, kept["side"], strict=True)),
            width=dict(zip(names, kept["width"], strict=True)),
            **told,
        ),
        strain=kept["strain"],
        damage=kept["damage"],
        moved=kept["moved"],
        symmetry=Symmetry(**words["symmetry"]),
    )


def _worst(told: dict[str, Any]) -> Worst:
    return Worst(told["value"], (told["at"][0], told["at"][1]))
