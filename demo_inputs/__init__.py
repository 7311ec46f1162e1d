"""An invented scenario: a simulated bench, five motors, and the input workbooks made from them."""
