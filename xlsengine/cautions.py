"""The cautions that stand on Start, on the Report, where the hands are and in the README, and what overrules them."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One caution: `short` is its first sentences, for a page without room for `more`."""

    short: str
    more: str

    @property
    def full(self) -> str:
        """Return everything it says."""
        return f"{self.short} {self.more}"


CAUTIONS = (
    Caution(
        "A spinning propeller cuts, and a broken one flies. Keep it behind a guard, and nobody in line with the spinning "
        "disc (its plane of rotation); wear eye protection, keep hair, sleeves and cords away and the power cut-off within "
        "reach. Take the propeller off for calibration, direction checks and no-load spins.",
        "Before each run check blades, nut and motor screws, and that the stand is bolted or clamped at two points. "
        "Connect with the throttle at zero, arm last.",
    ),
    Caution(
        "Lithium packs burn. Charge them attended, on a base that does not burn, with the charger set to their chemistry "
        "and cell count. Take a pack out of use when it is puffed, damaged or hot, has been charged above its maker's "
        "limit, or rests below 3.0 V per cell.",
        "Charge only when cool; dispose of packs by local rules.",
    ),
    Caution(
        "Bench wiring carries enough current to start a fire. Use wire and plugs rated for it, fuse the supply near its "
        "source, insulate every joint, check polarity, keep leads out of the propeller. Motor and ESC stay hot for "
        "minutes.",
        "Turn the ESC's brake off on a bench supply that cannot take current back.",
    ),
)
DEFERENCE = (
    "Makers' ratings and instructions come before anything here, and so do local rules for model and unmanned aircraft, "
    "for lithium packs and of the place you test in. Mains and fixed wiring are work for licensed people. Figures are of "
    "one sample under the conditions stated; in-flight figures are estimates, never the only ground for choosing an ESC."
)
IN_FULL = (*(caution.full for caution in CAUTIONS), DEFERENCE)
IN_ONE_LINE = (
    "Spinning propellers cut, lithium packs burn, bench wiring can start a fire: cautions whole on page two. Makers' "
    "ratings and local rules come before this page."
)
"""What stands below the answers, where the whole would not leave them room."""
ON_A_PICTURE = (
    "Spinning propellers cut, lithium packs burn, bench wiring can start a fire.",
    "Makers' ratings and local rules come before these figures.",
)
"""What stands at the foot of a picture, one line or two."""
SHEET_CAUTIONS = {
    "Bench": "Take the propeller off while you wire, calibrate and check the direction; connect power last, with the "
    "throttle at zero. Fuse the supply near its source, insulate every joint, check polarity. Use no pack that is puffed, "
    "damaged or hot, or rests below 3.0 V per cell.",
    "No load": "Take the propeller off for every spin. The leads of a driven motor are live: insulate them before it "
    "turns and do not touch them. Clamp the motor; keep fingers, hair and cords off shaft and drill. Measure resistance "
    "at rest, with the ESC disconnected.",
    "Readings": "Guard up, nobody in line with the spinning disc, eye protection on, power cut-off within reach; check "
    "blades, nut, screws and clamps before each run. Stop at smoke, a smell, a screech or a new vibration. Power off "
    "before you touch anything; motor and ESC stay hot.",
}
"""What stands below the title of a sheet that is filled in at the bench."""
