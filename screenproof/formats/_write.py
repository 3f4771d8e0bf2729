"""Writing a file so that nothing a user made is lost and no half a file is left behind."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from screenproof.errors import bad


def write_beside(path: str | Path, content: bytes | str, *, force: bool = False) -> Path:
    """Write ``content`` to ``path``: into a file beside it first, flushed to disk, then renamed into place.

    A text is written as UTF-8 with LF line ends. Without ``force`` an existing file is refused, also when
    it appears while this one is being written; the folder must exist.

    Returns the path. Raises InputError when the file exists, is a folder, or cannot be written.
    """
    place = Path(path)
    if place.is_dir():
        raise bad("this is a folder", file=path, expected="a file name", mend="name a file in that folder")
    if place.exists() and not force:
        raise _exists(path)
    data = content.encode("utf-8") if isinstance(content, str) else content
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{place.name[:100]}.", suffix=".part", dir=place.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, _mode(place))
        if force:
            os.replace(temporary, place)
        else:
            _rename_new(temporary, place)
        temporary = None
    except FileExistsError:
        raise _exists(path) from None
    except FileNotFoundError:
        raise bad(
            f"there is no folder {place.parent}",
            file=path,
            expected="a folder that exists",
            mend="make the folder first",
        ) from None
    except OSError as error:
        raise bad(
            f"the file cannot be written: {error.strerror or error}",
            file=path,
            expected="a folder that you may write to, with room left",
            mend="name another folder",
        ) from None
    finally:
        if temporary is not None and os.path.exists(temporary):
            os.unlink(temporary)
    return place


def _exists(path: str | Path) -> Exception:
    return bad(
        "the file exists and is not overwritten",
        file=path,
        expected="a new file name",
        mend="name another file, or ask for it to be replaced (force)",
    )


def _mode(place: Path) -> int:
    """Permissions as an ordinary new file gets them, or those of the file that is replaced."""
    if place.exists():
        return place.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _rename_new(temporary: str, place: Path) -> None:
    """Rename without replacing: a hard link fails when the name is taken, a rename would not."""
    try:
        os.link(temporary, place)
    except FileExistsError:
        raise
    except OSError:
        # File systems without hard links: the check just before the rename must do.
        if place.exists():
            raise FileExistsError(str(place)) from None
        os.replace(temporary, place)
        return
    os.unlink(temporary)
