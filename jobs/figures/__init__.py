"""Figures as server-made SVG, alike on page and paper: one module per kind, each with `draw`.

Grey only, by shape, dash, number and word; the marks stand where the numbers of the table say.
The plotting library is loaded when the first figure is drawn (`canvas`), never by an import.
"""
