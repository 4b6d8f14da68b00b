"""The cycle of a step: its own time and, where films grow in it, the time of each film."""
from __future__ import annotations

from collections.abc import Mapping

from ..case.records import Layer, Step
from ..operations import Value, sum_of
from .records import LayerGrowth


def layer_growth(layer: Layer) -> LayerGrowth:
    """Time of one film in the cycle: thickness over rate, and the purge before it. Common practice.

    >>> from costmodel.case.records import Layer
    >>> layer_growth(Layer("i", "deposition", 50.0, 0.25, 240.0, 2200.0, "silane", 0.15)).time
    440.0
    """
    growth_time = layer.thickness / layer.rate
    return LayerGrowth(growth_time=growth_time, time=growth_time + layer.purge_time)


def cycle_time(identity: str, step: Step, layers: Mapping[str, Layer], growth: Mapping[str, LayerGrowth]) -> Value:
    """Time of one load on the tool: the step's own time and that of the films that grow in it."""
    films = [growth[name].time for name, layer in layers.items() if layer.step == identity]
    return step.cycle_time_without_films + sum_of(films) if films else step.cycle_time_without_films
