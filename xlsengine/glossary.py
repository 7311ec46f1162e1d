"""The terms of the trade that a reader may not know, one line each."""

GLOSSARY = (
    (
        "ESC",
        "Electronic speed controller, between pack and motor; rated in amps that it carries for long, and in a burst.",
    ),
    ("AWG", "American wire gauge: the larger the number, the thinner the wire."),
    ("GUM", "Guide to the expression of uncertainty in measurement (JCGM 100): what stands behind ±."),
    ("CT, CP", "Thrust and power coefficient: thrust and shaft power of a propeller without its size, speed and air."),
    ("3S, eRPM", "Three lithium cells in series; electrical speed, which is the motor's rpm times its pairs of poles."),
    (
        "Steady, peak",
        "Steady: settled, as with throttle held, for which an ESC has its continuous rating. Peak: the first "
        "second, as in a burst.",
    ),
)
"""Term and what it means."""
