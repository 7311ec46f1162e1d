"""Factors and ranges of prediction: cell counts not tested, hovering, thrust over weight."""

from xlsengine.bench.inputs.topics import Topic
from xlsengine.expression import Named
from xlsengine.sources import FROM_MEMORY, practice, published, worked_out

_PREDICTION = Topic("Prediction of cell counts not tested")
thrust_speed_power = _PREDICTION.setting(
    "thrust_speed_power", "Thrust goes with speed to the power", "", 2.05, (1.8, 2.4)
).means(
    "Carries a measured thrust to another speed of the same propeller.",
    published("UIUC Propeller Data Site, static rows of 12 propellers above 0.4 of their top speed: median 2.05"),
)
prediction_thrust_least = _PREDICTION.setting(
    "prediction_thrust_least", "Prediction: least range on thrust, ±", "%", 3, (0, 50)
).means("Never narrower than this, however good the test predictions were.", practice())
prediction_current_least = _PREDICTION.setting(
    "prediction_current_least", "Prediction: least range on current, ±", "%", 4, (0, 50)
).means("Never narrower than this, however good the test predictions were.", practice())
prediction_growth = _PREDICTION.setting(
    "prediction_growth",
    "Prediction: range for propellers unlike the model, per doubling of the cells, ±",
    "%",
    14,
    (0, 80),
).means(
    "Thrust and torque do not go with speed to quite the powers that are taken.",
    published(
        "UIUC Propeller Data Site, static rows of 12 propellers above 0.4 of their top speed: CP goes with speed to "
        "powers whose standard deviation is 0.17; twice that over a doubling of volts"
    ),
)
prediction_loading = _PREDICTION.setting(
    "prediction_loading", "Prediction: speed ratio where no speed was read, off by up to", "", 0.125, (0, 0.4)
).means("About the ratio assumed for normalising.", practice("loaded motors run at 0.60 to 0.85"))
prediction_warmth = _PREDICTION.setting(
    "prediction_warmth", "Prediction: winding of a steady reading warmer than at its start, by up to", "K", 30, (0, 150)
).means("At more current it warms with the square of it, which no reading at the lower cell count shows.", FROM_MEMORY)
prediction_limit = _PREDICTION.setting(
    "prediction_limit", "Prediction: widest range that a figure is given with, ±", "%", 30, (5, 100)
).means("Beyond it the cell count is too far from those measured, and no figure is given.", practice())

_HOVER = Topic("Hover and flight time")
usable_capacity = _HOVER.setting("usable_capacity", "Usable share of a pack's capacity", "%", 80, (10, 100)).means(
    "The rest is left in to protect the pack.", practice()
)
avionics_power = _HOVER.setting("avionics_power", "Power of everything but the motors", "W", 5, (0, 1000)).means(
    "Receiver, controller, camera and links.", practice()
)
hover_gap = _HOVER.setting(
    "hover_gap", "Hover: largest thrust over smallest, between neighbours", "", 3, (1.05, 20)
).means(
    "No hover figure is given across a wider gap between readings.",
    worked_out("power goes nearly as a power of thrust; on a simulated motor within 4 % across such a gap"),
)
hover_range = _HOVER.setting("hover_range", "Hover throttle and current: range, ±", "%", 5, (0, 80)).means(
    "Of reading off between two readings.",
    worked_out("4 % of interpolating across the widest gap, and the scatter of two readings"),
)
flight_time_range = _HOVER.setting("flight_time_range", "Flight time: range, ±", "%", 15, (0, 80)).means(
    "A hover time from a static table is worse than from the craft itself.", FROM_MEMORY
)

_WEIGHT = Topic("All-up mass by thrust over weight")


def _lift_ratio(place: int, value: float) -> Named:
    return _WEIGHT.setting(
        f"lift_ratio_{place}", f"Thrust over weight, hovering craft, class {place}", "", value, (1, 30)
    ).means("Static thrust at full throttle over the weight of the whole craft.", practice("2 to 12 are spoken of"))


def _wing_ratio(place: int, value: float) -> Named:
    return _WEIGHT.setting(
        f"wing_ratio_{place}", f"Thrust over weight, fixed wing, class {place}", "", value, (0.1, 5)
    ).means("Static thrust at full throttle over the weight of the whole craft.", FROM_MEMORY)


lift_ratios = tuple(_lift_ratio(place, value) for place, value in enumerate((2, 3, 5, 8, 12), start=1))
wing_ratios = tuple(_wing_ratio(place, value) for place, value in enumerate((0.5, 0.8, 1, 1.5), start=1))
