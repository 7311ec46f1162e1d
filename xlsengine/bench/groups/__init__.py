"""Propellers, cell counts, throttle steps, repeats and predictions: what is said of several readings together."""
