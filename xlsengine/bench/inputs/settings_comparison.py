"""What belongs to the class of a motor, and from how many motors on a percentile says something."""

from __future__ import annotations

from xlsengine.bench.inputs.topics import Topic
from xlsengine.sources import FROM_MEMORY, practice

_COMPARISON = Topic("Comparison with motors of its class")
class_size_band = _COMPARISON.setting(
    "class_size_band", "Class: stator diameter and height differ by at most", "mm", 0.5, (0, 10)
).means("Motors of the same stator size are compared; labels round it to whole or half millimetres.", practice())
class_kv_band = _COMPARISON.setting("class_kv_band", "Class: labelled Kv differs by at most", "%", 10, (0, 100)).means(
    "A motor of another Kv takes another propeller.", FROM_MEMORY
)
least_for_percentile = _COMPARISON.setting(
    "least_for_percentile", "Percentile from this many peers up", "", 8, (2, 1000)
).means("Below it the place is told as 3rd of 6.", FROM_MEMORY)
