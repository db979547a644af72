"""One day of water in the root zone of a bed: floats in, floats out, nothing remembered.

The soil's state is its depletion Dr: how much water it would take to fill the root zone to field
capacity [mm]. It runs from 0 (full) to the total available water TAW (dry as roots can make it).
While no crop stands, evaporation is limited by how dry the top layer is, the `surface` depletion, a
part of Dr that runs from 0 to the total evaporable water TEW.
Equation numbers are those of Allen, Pereira, Raes & Smith (1998), Crop evapotranspiration, FAO
Irrigation and Drainage Paper 56. Plain arithmetic only, so that every function also compiles.

A day of a bed, in order (`growing`, `etc`, `rain_kept`, `raw` are known for the whole run)::

    dried, top = dry_down(depletion, surface, growing, taw, raw, tew, rew, etc)   dried - depletion was taken
    asked      = irrigation_asked(dried - rain_kept, trigger, target) * area / efficiency      in season
    watered    = delivered * efficiency / area
    depletion, surface, deep = wet_up(dried, top, rain_kept + watered)

so that depletion_new = depletion_old + taken - rain_kept - watered + deep (eq. 85; no runoff and no
capillary rise).
"""

from __future__ import annotations


def stress(depletion: float, taw: float, raw: float) -> float:
    """Water stress coefficient Ks, eq. 84: 1 down to RAW, then falling in a line to 0 at TAW.

    Parameters
    ----------
    depletion : float
        Depletion at the end of the day before [mm].
    taw, raw : float
        Total and readily available water of the root zone [mm].

    Returns
    -------
    float
        Share of its full evapotranspiration that the crop can draw [-].
    """
    if depletion <= raw:
        return 1.0
    if depletion >= taw:
        return 0.0
    return (taw - depletion) / (taw - raw)


def after_crop(depletion: float, taw: float, ks: float, etc: float) -> float:
    """Depletion after the crop has drunk and before any water comes.

    A day's evapotranspiration is at most what the root zone held in the morning. That bound can bind
    only where ETc exceeds TAW - RAW (a shallow, coarse bed on a fierce day), where one whole day of
    eq. 84 would overshoot; it keeps the depletion within TAW without clipping the balance, and a
    wetter morning from ever making a drier evening.

    Parameters
    ----------
    depletion : float
        Depletion at the end of the day before [mm].
    taw : float
        Total available water [mm].
    ks : float
        Water stress coefficient [-].
    etc : float
        Crop evapotranspiration without stress, Kc ET0 [mm].

    Returns
    -------
    float
        Depletion; this less the morning's is the crop's actual evapotranspiration [mm].
    """
    return min(depletion + ks * etc, taw)


def dry_down(
    depletion: float,
    surface: float,
    growing: bool,
    taw: float,
    raw: float,
    tew: float,
    rew: float,
    etc: float,
) -> tuple[float, float]:
    """Depletion of the root zone and of its top layer after crop or sun have drunk.

    Under a crop the whole root zone dries (eq. 84). Bare soil dries from its top layer alone, freely down
    to REW and then ever more slowly (eq. 74): a fallow bed cannot lose what lies deeper.

    Parameters
    ----------
    depletion, surface : float
        Depletion of the root zone and of its top layer at the end of the day before [mm].
    growing : bool
        Whether a crop stands.
    taw, raw : float
        Total and readily available water of the root zone [mm].
    tew, rew : float
        Total and readily evaporable water of the top layer, at most TAW and TEW [mm].
    etc : float
        Evapotranspiration without stress: Kc ET0 of the crop, or of wet bare soil [mm].

    Returns
    -------
    dried, top : float
        Depletion of the root zone and of its top layer [mm].
    """
    if growing:
        dried = after_crop(depletion, taw, stress(depletion, taw, raw), etc)
        return dried, min(dried, tew)
    top = after_crop(surface, tew, stress(surface, tew, rew), etc)
    return min(depletion + (top - surface), taw), top


def irrigation_asked(evening: float, trigger: float, target: float) -> float:
    """Water the bed asks for, as depth in the root zone, before losses of the method.

    A bed asks on the day on which, unwatered, it would pass its trigger by nightfall, rain included.
    So a bed that is always served never passes the trigger, and nobody waters in the rain.

    Parameters
    ----------
    evening : float
        Depletion the day would end with if the bed were not watered; below 0 after much rain [mm].
    trigger : float
        Depletion beyond which the bed asks; RAW by default [mm].
    target : float
        Depletion to leave after watering; 0 is field capacity [mm].

    Returns
    -------
    float
        Net depth asked for; divide by the method's efficiency for what the tank must give [mm].
    """
    return max(evening - target, 0.0) if evening > trigger else 0.0


def wetted(dried: float, water: float) -> tuple[float, float]:
    """Depletion at the end of the day, and what runs out below the roots, eq. 85 and 88.

    Parameters
    ----------
    dried : float
        Depletion after the crop has drunk [mm].
    water : float
        Effective rain and net irrigation together [mm].

    Returns
    -------
    depletion, deep_percolation : float
        Never below 0, and never both above 0 [mm].
    """
    if water > dried:
        return 0.0, water - dried
    return dried - water, 0.0


def wet_up(dried: float, top: float, water: float) -> tuple[float, float, float]:
    """End of the day: rain and irrigation fill the soil from the top.

    Parameters
    ----------
    dried, top : float
        Depletion of the root zone and of its top layer after `dry_down` [mm].
    water : float
        Effective rain and net irrigation together [mm].

    Returns
    -------
    depletion, surface, deep_percolation : float
        Both depletions at the end of the day; water lost below the roots [mm].
    """
    evening, deep = wetted(dried, water)
    return evening, max(top - water, 0.0), deep
