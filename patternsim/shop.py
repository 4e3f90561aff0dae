"""The smith's shop: losses, saw, friction. Values a job may change; each with its reason."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field


def _value(default: float, *, low: float, high: float, unit: str, label: str, reason: str) -> float:
    field: float = Field(
        default,
        ge=low,
        le=high,
        json_schema_extra={"label": label, "unit": unit, "reason": reason},
    )
    return field


class Shop(BaseModel):
    """What the shop takes off the steel and how its tools grip. All mm at room temperature.

    The skins are common practice, no source; scale grows faster in an oxidising fire.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    kerf_mm: float = _value(
        2.0,
        low=0.0,
        high=10.0,
        unit="mm",
        label="Saw kerf",
        reason="width of the saw cut; common practice, no source",
    )
    skin_weld_mm: float = _value(
        0.10,
        low=0.0,
        high=2.0,
        unit="mm",
        label="Skin lost in a welding heat",
        reason="scale off every face, each welding heat; common practice, no source",
    )
    skin_forge_mm: float = _value(
        0.07,
        low=0.0,
        high=2.0,
        unit="mm",
        label="Skin lost in a forging heat",
        reason="scale off every face, each forging heat; common practice, no source",
    )
    friction_dies: float = _value(
        0.6,
        low=0.0,
        high=1.0,
        unit="",
        label="Friction factor of the dies",
        reason="sets how far layers bow; dry hot steel 0.3 to 1.0; calibrate on one etched slice",
    )
    friction_wedge: float = _value(
        0.8,
        low=0.0,
        high=1.0,
        unit="",
        label="Friction factor of the wedge",
        reason="cold wedge on scaled faces; sets the drag of the barbs; calibrate on one end slice",
    )
    shaft_mm: float = _value(
        1.0,
        low=0.0,
        high=5.0,
        unit="mm",
        label="Width of the shaft on the blade",
        reason="the line where the halves meet, 0.5 to 1.5 mm; not predicted inside; no source",
    )
    press_speed_mm_s: float = _value(
        10.0,
        low=0.5,
        high=1000.0,
        unit="mm/s",
        label="Speed of the press",
        reason="while it squeezes; the faster, the stiffer the steel; 5 to 20 is common, no source",
    )
    die_tilt_deg: float = _value(
        0.0,
        low=-5.0,
        high=5.0,
        unit="deg",
        label="Dies out of parallel",
        reason="measured with a feeler; bows a tall stack like a C; not worked out by the quick picture",
    )
    stack_lean_deg: float = _value(
        0.0,
        low=-5.0,
        high=5.0,
        unit="deg",
        label="Lean of a tall stack",
        reason="as it is set on the die; makes an S; not worked out by the quick picture",
    )
    stack_bow_mm: float = _value(
        0.0,
        low=-10.0,
        high=10.0,
        unit="mm",
        label="Bow of a tall stack",
        reason="its middle out of line before it is pressed; not worked out by the quick picture",
    )
