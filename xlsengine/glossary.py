"""The terms of the trade that a reader may not know, one line each."""

GLOSSARY = (
    (
        "ESC",
        "Electronic speed controller, between pack and motor; rated in amps that it carries for long, and in a burst.",
    ),
    ("Kv", "Speed of the motor for each volt when it turns without a propeller, in rpm per volt (rpm/V)."),
    (
        "Stator, can",
        "The wound part that stands still, and the bell that turns around it. A size such as 2207 is 22 mm across and 7 mm "
        "high, of the one or the other.",
    ),
    (
        "7x4, 7x4x3",
        "A propeller of 7 inches diameter and 4 inches pitch (how far one turn would take it); x3: three blades.",
    ),
    ("Static", "On a stand that does not move, without wind. In flight a propeller mostly draws less."),
    ("g/W", "Grams of thrust for each watt of electric power: how efficient a motor with its propeller is."),
    ("3S, 20C", "Three lithium cells in series. 20C: 20 times the pack's capacity in Ah, so 30 A from 1,500 mAh."),
    ("AWG", "American wire gauge: the larger the number, the thinner the wire."),
    (
        "Steady, peak",
        "Steady: settled, as with throttle held, for which an ESC has its continuous rating. Peak: the first "
        "second, as in a burst.",
    ),
)
"""Term and what it means: those that a beginner meets."""
ENGINEERING = (
    ("GUM", "Guide to the expression of uncertainty in measurement (JCGM 100): what stands behind ±."),
    ("CT, CP", "Thrust and power coefficient: thrust and shaft power of a propeller without its size, speed and air."),
    ("eRPM", "Electrical speed: the motor's rpm times its pairs of poles."),
)
"""Those that stand on workings alone."""
