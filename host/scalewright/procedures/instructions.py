"""Requests in words, for every front end."""

from scalewright.procedures.requests import (
    MIDDLE,
    Ask,
    ClearZeroAndTare,
    Do,
    PlaceLoad,
    ReadCoefficients,
    Request,
    Restart,
    SetAir,
    SetTare,
    SetZero,
    StoreCoefficients,
    TakeIndication,
    TakeReading,
    TakeStillReading,
    TiltScale,
    WaitUntil,
)

_MS_PER_MIN = 60_000


def instruction(request: Request) -> str:
    """Return what is to be done, or waited for, as a phrase that goes on from "please"."""
    match request:
        case PlaceLoad():
            return _placing(request)
        case TiltScale():
            return _tilting(request)
        case SetAir(air_c):
            return f"bring the air to {air_c} °C"
        case Restart(off_s):
            return f"switch the scale off for {_duration(off_s)}, then on"
        case Do(what) | Ask(what):
            return what
        case TakeStillReading() | TakeReading() | TakeIndication():
            return "wait for the reading"
        case WaitUntil(time_ms, since_ms):
            return f"let it stand until {(time_ms - since_ms) / _MS_PER_MIN:.3g} min have gone by"
        case _:
            return _BY_THE_DEVICE[type(request)]


_BY_THE_DEVICE = {
    SetZero: "wait while the scale sets itself to zero",
    SetTare: "wait while the scale takes the tare",
    ClearZeroAndTare: "wait while the scale forgets zero and tare",
    ReadCoefficients: "wait while the coefficients are read",
    StoreCoefficients: "wait while the coefficients are stored",
}


def _placing(load: PlaceLoad) -> str:
    if load.ballast_g and not load.load_g:
        return f"take the masses off and put ballast on until the scale shows about {load.ballast_g} g"
    if not load.load_g:
        return f"put {load.added_g} g of small weights on the empty pan" if load.added_g else "clear the pan"
    pieces = f" ({' + '.join(load.pieces)})" if load.pieces else ""
    where = "on the scale" if load.at == MIDDLE else f"on the pan, {load.at.name}"
    where = "on top of the ballast" if load.ballast_g else where
    added = f", with {load.added_g} g of small weights" if load.added_g else ""
    return f"put {load.load_g} g{pieces} {where}{added}"


def _tilting(tilt: TiltScale) -> str:
    sides = [
        f"{side} side {abs(amount)}/1000 down"
        for amount, side in (
            (tilt.x_per_mille, "right" if tilt.x_per_mille > 0 else "left"),
            (tilt.y_per_mille, "back" if tilt.y_per_mille > 0 else "front"),
        )
        if amount
    ]
    return f"put the scale out of level: {' and '.join(sides)}" if sides else "level the scale"


def _duration(seconds: int) -> str:
    if seconds < 120:
        return f"{seconds} s"
    return f"{seconds / 60:.3g} min" if seconds < 7200 else f"{seconds / 3600:.3g} h"
