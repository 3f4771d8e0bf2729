"""Partners of two sets of samples: by their names, or in their order."""

from __future__ import annotations

from screenproof.errors import Note, bad, nearest
from screenproof.spectra import Samples


def paired(a: Samples, b: Samples, option: str) -> tuple[Samples, Samples, tuple[Note, ...]]:
    """Both sides in the same order: by equal names; by order when no name is shared and the counts agree.

    Raises InputError, told of the field ``option``, that lists the names without a partner.
    """
    alone_a = [name for name in a.names if name not in b.names]
    alone_b = [name for name in b.names if name not in a.names]
    if not alone_a and not alone_b:
        return a, b.select([b.names.index(name) for name in a.names]), ()
    if len(a) == len(b) and len(alone_a) == len(a):
        note = Note(
            "assumed",
            f"no name stands in both files, so the {len(a)} samples are paired in their order",
            mend="give partners the same name to be sure",
        )
        return a, b, (note,)
    lines = []
    for alone, other in ((alone_a, b), (alone_b, a)):
        for name in alone:
            near = nearest(name, other.names)
            lines.append(f"{name!r}" + (f" (is it {near!r} there?)" if near else ""))
    raise bad(
        f"without a partner: {', '.join(lines[:12])}"
        + (f" and {len(lines) - 12} more" if len(lines) > 12 else ""),
        field=option,
        expected=f"the same names in {a.source or 'the samples'} and {b.source or 'the others'}",
        mend="give partners the same name, or choose some with {only}",
    )
