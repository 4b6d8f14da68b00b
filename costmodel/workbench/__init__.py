"""Notebooks: controls for inputs of a case, and pictures that follow them.

Decisions. A panel takes a case, a view and addresses. Every move goes through `with_values`, then through the view; a value
that is refused stops there. All pictures of a panel are one widget of ours, which hands them to plotly in one message; zoom
stays. It brings plotly's 5 MB to the page: one panel or two in a notebook. What is drawn goes to the browser as the value of a
plain widget: an anywidget whose module a busy browser has not loaded within two seconds never hears of a change. A chart is
plain data (`present/drawing.py`), as checking it in Python takes longer than the model; tests have plotly check every chart.
The picture goes out first, then words, tables and the typed value. A view computes what it shows and what a move can have
changed (`views.LATER`). The browser puts a slider's value on its next step when it is shown, and says so: that is no move
(`NumberControl._slid`).
"""
