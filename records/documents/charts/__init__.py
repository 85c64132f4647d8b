"""Plots for page and paper: data and words in, one specification out, drawn as SVG."""
