"""The cautions that stand on Start, on the Report and in the README, and what overrules this workbook."""

CAUTIONS = (
    "Spinning propellers cut: guard the disk, stay out of its plane, wear eye protection, clamp the motor twice, keep "
    "the power cut within reach, and take the propeller off for every set-up without a run.",
    "Lithium packs burn: charge attended on a base that does not burn, with the right cell count; never use a pack "
    "that is puffed, hot or below 3.0 V per cell.",
    "Bench wiring carries fire-starting current: fuse the supply near its source, insulate plugs, check polarity, keep "
    "leads out of the disk; motor and ESC stay hot for minutes.",
)
DEFERENCE = (
    "Makers' ratings and instructions overrule this workbook, and so do local rules for model and unmanned aircraft "
    "and for lithium packs; mains and fixed wiring are work for licensed people. Figures come from one sample under the "
    "conditions stated."
)
