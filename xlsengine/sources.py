"""Where a figure, an equation or a limit comes from; every declaration names one of these."""

from dataclasses import dataclass
from enum import StrEnum
from functools import partial


class Standing(StrEnum):
    """How far a source can be leant on."""

    PUBLISHED = "published"
    DEFINITION = "definition"
    COMMON_PRACTICE = "common practice, no source"
    FROM_MEMORY = "from memory"
    WORKED_OUT = "worked out"
    READING = "read by the tester"


@dataclass(frozen=True)
class Source:
    """A source and its standing; `text` is what the Method sheet prints."""

    standing: Standing
    detail: str = ""

    @property
    def text(self) -> str:
        """Return the standing and the detail as one line."""
        return f"{self.standing}: {self.detail}" if self.detail else str(self.standing)


practice = partial(Source, Standing.COMMON_PRACTICE)
"""Marks a fact of the trade that has no source to name."""
worked_out = partial(Source, Standing.WORKED_OUT)
"""Marks what follows from named facts by arithmetic."""
definition = partial(Source, Standing.DEFINITION)
"""Marks what holds because the quantity is defined so."""
published = partial(Source, Standing.PUBLISHED)
"""Marks what can be looked up under the name given."""
READING = Source(Standing.READING)
FROM_MEMORY = Source(Standing.FROM_MEMORY)
SI_BROCHURE = definition("The International System of Units (SI brochure); standard gravity 9.80665 m/s²")
MOMENTUM_THEORY = published("momentum (actuator disk) theory: ideal power = T^1.5 / √(2·ρ·A)")
ASTM_B258 = published("ASTM B258: wire diameter 0.127 mm · 92^((36 − gauge)/39)")
IACS = published("International Annealed Copper Standard (NBS Handbook 100): 8.89 g/cm³, 1/58 Ω·mm²/m at 20 °C")
STANDARD_ATMOSPHERE = published("ISO 2533 standard atmosphere: 1.225 kg/m³ at sea level, dry air 287.05287 J/(kg·K)")
CIPM_2007 = published("CIPM-2007 density of moist air: Picard, Davis, Gläser, Fujii, Metrologia 45 (2008) 149-155")
PROPELLER_COEFFICIENTS = published(
    "CT = T/(ρ·n²·D⁴), CP = P/(ρ·n³·D⁵), n in rev/s: Deters, Ananda, Selig, AIAA 2014-2151, equations 1 to 8"
)
SIX_STEPS = published(
    "mean of a three-phase bridge 3√2/π·V rms line to line: The Electric Power Engineering Handbook, 22.2.5, equation 22.4; "
    "an ESC of six steps is that bridge driven backwards"
)
FIRST_ORDER_MOTOR = Source(
    Standing.FROM_MEMORY,
    "Fitzgerald, Kingsley, Umans, Electric Machinery: DC motor of constant field, V = E + I·R with E = n/Kv, its "
    "rotational losses as a no-load current",
)
IGLEWICZ_HOAGLIN = published("Iglewicz and Hoaglin 1993, modified z-score, as in NIST/SEMATECH e-Handbook 1.3.5.17")
GRUBBS = published("Grubbs' test, NIST/SEMATECH e-Handbook 1.3.5.17.1")
GUM_LIMITS = published("GUM (JCGM 100:2008) 4.3.7: rectangular between its limits, standard uncertainty limit/√3")
GUM_REPEATS = published("GUM (JCGM 100:2008) 4.2.4: pooled standard deviation of repeats")
GUM_PROPAGATION = published("GUM (JCGM 100:2008) 5.1.2 and 5.2.2: law of propagation of uncertainty, correlated inputs")
GUM_FREEDOM = published("GUM (JCGM 100:2008) G.4.1: Welch-Satterthwaite formula; Table G.2: t-distribution")
