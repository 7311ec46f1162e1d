"""Expanded uncertainties of rows, groups, headlines and motor figures."""
