"""The moisture of a board's wood, and its woods at that moisture."""

from __future__ import annotations

from dataclasses import replace

from bellywork.board.body import Body
from bellywork.board.state import Climate
from bellywork.mechanics.moisture import at_moisture, equilibrium_moisture_percent

USUAL_TEMPERATURE_C = 20.0


def moisture_in(climate: Climate) -> float | None:
    """Moisture of the wood in %, as given, or as humidity and temperature (else 20 °C) lead to; None unknown.

    >>> round(moisture_in(Climate(rh_percent=40, temperature_C=21)), 1)
    7.7
    """
    if climate.moisture_percent is not None or climate.rh_percent is None:
        return climate.moisture_percent
    temperature = USUAL_TEMPERATURE_C if climate.temperature_C is None else climate.temperature_C
    return equilibrium_moisture_percent(climate.rh_percent, temperature)


def crushing_limit_MPa(body: Body, moisture_percent: float) -> float:
    """Pressure across the grain at which the panel's wood begins to be crushed at this moisture; NaN unknown."""
    limit = at_moisture(body.panel.wood, moisture_percent).strength.compression_across
    return float("nan") if limit is None else limit


def body_in(body: Body, moisture_percent: float) -> Body:
    """The same body, every wood's constants moved to this moisture; shape and crown are left as they are."""
    return replace(
        body,
        panel=replace(body.panel, wood=at_moisture(body.panel.wood, moisture_percent)),
        ribs=tuple(replace(rib, wood=at_moisture(rib.wood, moisture_percent)) for rib in body.ribs),
        bridges=tuple(
            replace(
                bridge,
                root_wood=at_moisture(bridge.root_wood, moisture_percent),
                cap_wood=at_moisture(bridge.cap_wood, moisture_percent),
            )
            for bridge in body.bridges
        ),
    )
