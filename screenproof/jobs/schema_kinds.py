"""What the tables of a job are made of: the kinds of their values, and the rules that several of them share."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

# A text says something, and can be a file's name: no zero character in it.
Text = Annotated[str, Field(min_length=1, pattern=r"^[^\x00]*[^\s\x00][^\x00]*$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Fraction = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class Table(BaseModel):
    """A table of the job: unknown keys are refused, kinds are not coerced, nothing changes afterwards."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def exactly_one(table: BaseModel, keys: tuple[str, ...]) -> None:
    """Raise when not exactly one of the keys is given."""
    given = [key for key in keys if getattr(table, key) is not None]
    if len(given) != 1:
        said = "none of them is given" if not given else f"given are {' and '.join(given)}"
        raise PydanticCustomError(
            "sources", "{said}", {"said": said, "wanted": f"exactly one of {', '.join(keys)}"}
        )


def refused(said: str, *, wanted: str = "", mend: str = "") -> PydanticCustomError:
    """A mistake of a whole table in words that :func:`screenproof.jobs.schema.check_table` passes on."""
    context = {"said": said, **({"wanted": wanted} if wanted else {}), **({"mend": mend} if mend else {})}
    return PydanticCustomError("refused", "{said}", context)
