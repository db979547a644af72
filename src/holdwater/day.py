"""THE daily loop: the one file that remembers yesterday.

Order within a day: snow and roof -> first flush -> inflow -> thirst of the beds -> draws by rule (direct
backup serves what they lack) -> beds take their water -> fill and spill, cascade -> transfer -> backup
refill -> leak and evaporation -> equalise links -> book.

Several designs of the same holding run side by side: the last index of every table is the design.
One run is one design. Volumes are in litres, days count from 0. The file knows no tables of data,
no dates and no files; it runs on plain lists, and on arrays when compiled.
"""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

from holdwater.soil_water import dry_down, irrigation_asked, wet_up

Row = list[float]  # [day]
Daily = list[list[float]]  # [thing][day]
Table = list[list[float]]  # [thing][design]
Numbers = list[int]

NEVER = -1.0
SHORT = 1e-6
"""A draw is short when it lacks more than this share of what it asked: below it is rounding."""


class Sky(NamedTuple):
    """The weather; every row is [day]."""

    rain: Row  # liquid precipitation [mm]
    snow: Row  # [mm of water]
    thaw: Row  # most that the day's warmth can melt [mm]
    et0: Row  # reference evapotranspiration, 0 where nothing asks for it [mm]


class Roofs(NamedTuple):
    """Catchment surfaces; tables are [roof][design] unless noted."""

    area: Table  # plan area [m2]
    coefficient: Table  # runoff coefficient
    snows: int  # 1 where snow ever falls, else 0
    wets: Numbers  # [roof] 1 with a wetting store, else 0
    seasonal: Numbers  # [roof] 1 with a gutter season, else 0
    filters: Numbers  # [roof] 1 with a filter loss, else 0
    flushes: Numbers  # [roof] 1 with a first-flush chamber, else 0
    slides: Table  # share of the snow that slides or blows off
    wetting: Table  # room of the wetting store, area x wetting loss [L]
    filter: Table  # filter efficiency
    gutter: Daily  # [roof] 1 while the gutter is connected, else 0
    chamber: Table  # first-flush chamber [L]
    drain: Table  # what the chamber drains in a day [L]
    feed_roof: Numbers  # one entry for every roof that feeds a tank ...
    feed_tank: Numbers  # ... the tank
    feed_share: Table  # ... and the share of the roof's inflow it takes


class Tanks(NamedTuple):
    """What belongs to each tank, linked or not; tables are [tank][design]."""

    dead: Table  # volume below the outlet [L]
    leak: Table  # [L/day]
    open: Table  # evaporation from the surface as a multiple of ET0, 0 under a roof
    bottom: Table  # surface of the water below the outlet [m2]
    leaky: Numbers  # the tanks that can fall below their outlet: they leak or stand open


class Groups(NamedTuple):
    """Tanks by common water surface while the valves stay as they are; tables are [group][design]."""

    of_tank: Numbers  # group of every tank
    capacity: Table  # drawable capacity [L]
    reserve: Table  # volume no ordinary draw may touch [L]
    order: Numbers  # groups in the order in which they spill
    spills_from: Numbers  # [group] tank with the lowest lip
    spills_into: Numbers  # [group] tank that takes the overflow, -1 for the ground
    to_ground: Numbers  # [tank] 1 where the overflow of its group leaves the holding over its lip, else 0
    below_outlet: Table  # [tank][design] drawable volume of the group at the tank's outlet [L]
    step_of: Numbers  # first step of every tank, and one entry more
    step_start: Table  # [step][design] drawable volume of the group where the step begins [L]
    step_size: Table  # [step][design] volume of the step [L]
    step_share: Table  # [step][design] part of it that stands in the tank
    step_area: Table  # [step][design] surface of the tank in the step [m2]
    source_of: Numbers  # first source of every draw, and one entry more
    source_tank: Numbers  # [source] tank the draw takes from
    cut_of: Numbers  # first cut of every draw, and one entry more
    cut_below: Table  # [cut][design] drawable volume below which the draw takes less [L]
    transfer_below: Table  # [transfer][design] volume of the receiving group that starts the pump [L]
    refill_below: Table  # [refill][design] volume of the group that calls for water [L]
    refill_to: Table  # [refill][design] volume the refill aims at [L]


class Draws(NamedTuple):
    """Uses of water in order of priority."""

    wanted: Daily  # [draw] [L]
    may_use_reserve: Numbers  # [draw] 0 or 1
    cut_stops: Numbers  # [cut] 1 where the draw stops at the level, 0 where it takes less below it
    cut_keeps: Table  # [cut] share of what is wanted that is still asked below the level
    bed: Numbers  # [draw] bed that wants the water, -1 for other draws


class Beds(NamedTuple):
    """Garden beds; tables are [bed][design] unless noted."""

    area: Table  # [m2]
    available: Table  # total available water of the root zone, TAW [mm]
    target: Table  # depletion that watering leaves [mm]
    efficiency: Table  # share of the water applied that reaches the root zone
    layer: Table  # total evaporable water of the top layer, TEW [mm]
    layer_ready: Table  # readily evaporable water of the top layer, REW [mm]
    growing: Daily  # [bed] 1 while the crop stands, 0 on bare soil
    need: Daily  # [bed] evapotranspiration without stress, of the crop or of wet bare soil [mm]
    rain_kept: Daily  # [bed] rain and melt that counts [mm]
    ready: Daily  # [bed] share of TAW drawn without stress
    trigger: Daily  # [bed] share of TAW used up at which the bed asks
    asks: Daily  # [bed] 1 while the bed may ask, else 0
    flush_roof: Numbers  # roofs whose first flush runs to a bed ...
    flush_bed: Numbers  # ... and the bed


class Helpers(NamedTuple):
    """Transfer pumps, direct backup, refill backup."""

    transfer_from: Numbers
    transfer_to: Numbers
    transfer_rate: Table  # [transfer][design] [L/day]
    direct_limit: Table  # [direct][design] [L/day]
    serve_of: Numbers  # first draw served by every direct backup, and one entry more
    serve_draw: Numbers
    refill_tank: Numbers
    refill_limit: Table  # [refill][design] [L/day]
    hauls: Numbers  # [refill] 1 for a hauler that brings loads, 0 for water that flows
    load: Table  # [refill][design] load of the hauler, 0 for water that flows [L]
    lead: Numbers  # [refill] days between order and delivery


class State(NamedTuple):
    """What one day hands to the next; tables are [..][design]."""

    wet: Table  # [roof] water in the wetting store [L]
    chamber: Table  # [roof] water in the first-flush chamber [L]
    pack: Table  # [roof] water in the snow [L]
    below: Table  # [tank] water below the outlet [L]
    depletion: Table  # [bed] water missing in the root zone [mm]
    surface: Table  # [bed] water missing in its top layer [mm]
    drawable: Table  # [group] water above the outlets [L]
    due: Table  # [refill] day a load arrives; a day gone by while flowing water runs; NEVER
    ordered: Table  # [refill] loads on order


class Today(NamedTuple):
    """Every flux of one day [L]; tables are [..][design]."""

    onto_roof: Table
    snow_lost: Table
    gutter_off: Table
    wetting_loss: Table
    not_run_off: Table
    filter_loss: Table
    diverted: Table
    first_flush: Table
    roof_inflow: Table
    inflow: Table
    received: Table
    transfer_in: Table
    transfer_out: Table
    refill: Table
    drawn: Table
    overflow: Table
    leak: Table
    evaporation: Table
    storage: Table
    wanted: Table
    held_back: Table
    delivered: Table
    lacks: Table  # [draw] what is still to be had
    backup_served: Table
    crop_water: Table  # [bed] what crop or sun took [mm]
    dried: Table  # [bed] depletion after crop or sun have drunk [mm]
    top: Table  # [bed] the same of the top layer [mm]
    flushed: Table  # [bed] first-flush water [mm]
    watered: Table  # [bed] [mm]
    deep_percolation: Table  # [bed] [mm]
    thirst: Table  # [bed] water the bed wants of the tanks
    stressed: Table  # [bed] 1 on a day the crop suffers, else 0
    direct: Table
    supplied: Table
    loads: Table
    arriving: Table  # [group] inflow of the day so far
    left: Table  # [group] what the draws may still take
    opening: Table  # [group] drawable volume at the start of the day


class Tally(NamedTuple):
    """Running scores; tables are [0][design] unless noted."""

    asked: Table
    delivered: Table
    inflow: Table
    overflow: Table
    dry_days: Table
    unserved_days: Table
    held_back_days: Table
    spell: Table  # dry days in a row up to now
    longest: Table  # longest dry spell
    lowest: Table  # lowest drawable storage
    supplied: Table  # [refill]
    loads: Table  # [refill]
    served: Table  # [direct]
    stress_days: Table  # [bed]
    stressed_days: Table  # days on which any bed was stressed


def run_days(
    first: int,
    last: int,
    sky: Sky,
    roofs: Roofs,
    tanks: Tanks,
    groups: Groups,
    draws: Draws,
    beds: Beds,
    helpers: Helpers,
    state: State,
    today: Today,
    before_spill: bool,
    kept: Today,
    states: State,
    keep: bool,
    designs: int,
) -> None:
    """Run the days `first` to `last - 1` while the valves stay as they are.

    Parameters
    ----------
    before_spill : bool
        True for YBS (yield before spillage), False for YAS (yield after spillage).
    kept, states : Today, State
        [..][day] and [..][day + 1]: where the fluxes and end-of-day states of the first design
        are written if `keep` is set.
    designs : int
        How many designs run side by side.
    """
    for day in range(first, last):
        one_day(day, sky, roofs, tanks, groups, draws, beds, helpers, state, today, before_spill, designs)
        if keep:
            book(day, groups, state, today, kept, states)


def one_day(
    day: int,
    sky: Sky,
    roofs: Roofs,
    tanks: Tanks,
    groups: Groups,
    draws: Draws,
    beds: Beds,
    helpers: Helpers,
    state: State,
    today: Today,
    before_spill: bool,
    designs: int,
) -> None:
    """The order of the day."""
    collect(day, sky, roofs, state, today, designs)
    arrive(roofs, tanks, groups, state, today, designs)
    thirst(day, beds, state, today, designs)
    draw(day, groups, draws, state, today, before_spill, designs)
    serve(draws, helpers, today, designs)
    soak(day, draws, beds, state, today, designs)
    spill(groups, state, today, before_spill, designs)
    transfer(groups, helpers, state, today, designs)
    refill(day, groups, helpers, state, today, designs)
    lose(sky.et0[day], tanks, groups, state, today, designs)
    equalise(tanks, groups, state, today, designs)


def collect(day: int, sky: Sky, roofs: Roofs, state: State, today: Today, designs: int) -> None:
    """Rain and snow on each roof: melt, wetting, runoff, filter, first flush."""
    rain, snow, thaw = sky.rain[day], sky.snow[day], sky.thaw[day]
    for r in range(len(roofs.area)):
        area, coefficient, gutter = roofs.area[r], roofs.coefficient[r], roofs.gutter[r][day]
        slides, pack, slid = roofs.slides[r], state.pack[r], today.snow_lost[r]
        wet, wetting = state.wet[r], roofs.wetting[r]
        chamber, room, drain, kept_back = state.chamber[r], roofs.chamber[r], roofs.drain[r], roofs.filter[r]
        onto, dried, lost = today.onto_roof[r], today.wetting_loss[r], today.not_run_off[r]
        gutter_off, filter_loss = today.gutter_off[r], today.filter_loss[r]
        diverted, first_flush, inflow = today.diverted[r], today.first_flush[r], today.roof_inflow[r]
        for k in range(designs):
            onto[k] = area[k] * (rain + snow)
            water = area[k] * rain
            if roofs.snows:  # what does not slide off lies with the old pack and melts with it
                slid[k] = slides[k] * (area[k] * snow)
                lying = pack[k] + (area[k] * snow - slid[k])
                melt = min(lying, area[k] * thaw)
                pack[k] = lying - melt
                water = water + melt
            runs = water
            if roofs.wets[r]:  # the wetting store fills first and dries out only on a day without water
                taken = min(water, max(0.0, wetting[k] - wet[k]))
                dried[k] = wet[k] if water == 0.0 else 0.0
                wet[k] = wet[k] + taken - dried[k]
                runs = water - taken
            lost[k] = runs - coefficient[k] * runs
            runs = coefficient[k] * runs
            if roofs.seasonal[r]:
                gutter_off[k] = runs - runs * gutter
                runs = runs * gutter
            if roofs.filters[r]:
                filter_loss[k] = runs - runs * kept_back[k]
                runs = runs * kept_back[k]
            inflow[k] = runs
            if roofs.flushes[r]:  # the room left takes the first runoff; the chamber drains all day
                diverted[k] = min(runs, max(0.0, room[k] - chamber[k]))
                inflow[k] = runs - diverted[k]
                first_flush[k] = min(chamber[k] + diverted[k], drain[k])
                chamber[k] = chamber[k] + diverted[k] - first_flush[k]


def arrive(roofs: Roofs, tanks: Tanks, groups: Groups, state: State, today: Today, designs: int) -> None:
    """Inflow of every tank and of every group; a tank below its outlet fills its bottom first."""
    for t in range(len(today.inflow)):
        inflow = today.inflow[t]
        for k in range(designs):
            inflow[k] = 0.0
    for f in range(len(roofs.feed_roof)):
        inflow, roof, share = (
            today.inflow[roofs.feed_tank[f]],
            today.roof_inflow[roofs.feed_roof[f]],
            roofs.feed_share[f],
        )
        for k in range(designs):
            inflow[k] += roof[k] * share[k]
    for g in range(len(groups.order)):
        arriving = today.arriving[g]
        for k in range(designs):
            arriving[k] = 0.0
    for t in range(len(today.inflow)):
        inflow, arriving = today.inflow[t], today.arriving[groups.of_tank[t]]
        for k in range(designs):
            arriving[k] += inflow[k]
    for t in tanks.leaky:
        inflow, arriving = today.inflow[t], today.arriving[groups.of_tank[t]]
        below, dead = state.below[t], tanks.dead[t]
        for k in range(designs):
            fills = min(inflow[k], max(0.0, dead[k] - below[k]))
            below[k] += fills
            arriving[k] -= fills


def thirst(day: int, beds: Beds, state: State, today: Today, designs: int) -> None:
    """What crop and sun drink, and what each bed wants of the tanks (FAO-56 eq. 74, 84, 85)."""
    for b in range(len(beds.area)):
        flushed = today.flushed[b]
        for k in range(designs):
            flushed[k] = 0.0
    for f in range(len(beds.flush_roof)):
        b = beds.flush_bed[f]
        first_flush, flushed = today.first_flush[beds.flush_roof[f]], today.flushed[b]
        area, efficiency = beds.area[b], beds.efficiency[b]
        for k in range(designs):
            flushed[k] += first_flush[k] * efficiency[k] / area[k]
    for b in range(len(beds.area)):
        need, rain_kept, asks = beds.need[b][day], beds.rain_kept[b][day], beds.asks[b][day]
        ready, trigger, growing = beds.ready[b][day], beds.trigger[b][day], beds.growing[b][day] > 0.0
        available, target, area, efficiency = (
            beds.available[b],
            beds.target[b],
            beds.area[b],
            beds.efficiency[b],
        )
        layer, layer_ready = beds.layer[b], beds.layer_ready[b]
        depletion, surface, dried, top = state.depletion[b], state.surface[b], today.dried[b], today.top[b]
        flushed, crop_water, wants = today.flushed[b], today.crop_water[b], today.thirst[b]
        stressed = today.stressed[b]
        for k in range(designs):
            taw = available[k]
            dried[k], top[k] = dry_down(
                depletion[k], surface[k], growing, taw, ready * taw, layer[k], layer_ready[k], need
            )
            crop_water[k] = dried[k] - depletion[k]
            stressed[k] = 1.0 if growing and depletion[k] > ready * taw else 0.0
            evening = dried[k] - rain_kept - flushed[k]
            wants[k] = asks * irrigation_asked(evening, trigger * taw, target[k]) * area[k] / efficiency[k]


def soak(day: int, draws: Draws, beds: Beds, state: State, today: Today, designs: int) -> None:
    """Rain, first-flush water and what was delivered go into the beds; surplus runs below the roots."""
    for d in range(len(draws.bed)):
        b = draws.bed[d]
        if b >= 0:
            rain_kept, area, efficiency = beds.rain_kept[b][day], beds.area[b], beds.efficiency[b]
            delivered, served, watered = today.delivered[d], today.backup_served[d], today.watered[b]
            flushed, dried, top, deep = (
                today.flushed[b],
                today.dried[b],
                today.top[b],
                today.deep_percolation[b],
            )
            depletion, surface = state.depletion[b], state.surface[b]
            for k in range(designs):
                watered[k] = (delivered[k] + served[k]) * efficiency[k] / area[k]
                depletion[k], surface[k], deep[k] = wet_up(
                    dried[k], top[k], rain_kept + flushed[k] + watered[k]
                )


def draw(
    day: int, groups: Groups, draws: Draws, state: State, today: Today, before_spill: bool, designs: int
) -> None:
    """Draws in order of priority: YAS takes from the opening storage, YBS from storage and inflow."""
    for g in range(len(groups.order)):
        opening, drawable, left, arriving = (
            today.opening[g],
            state.drawable[g],
            today.left[g],
            today.arriving[g],
        )
        for k in range(designs):
            opening[k] = drawable[k]
            left[k] = drawable[k] + arriving[k] if before_spill else drawable[k]
    for t in range(len(today.drawn)):
        drawn = today.drawn[t]
        for k in range(designs):
            drawn[k] = 0.0
    for d in range(len(draws.wanted)):
        ask(day, d, groups, draws, today, designs)
        wanted, held_back, delivered, lacks = (
            today.wanted[d],
            today.held_back[d],
            today.delivered[d],
            today.lacks[d],
        )
        for k in range(designs):
            lacks[k] = wanted[k] - held_back[k]
            delivered[k] = 0.0
        ordinary = 1 - draws.may_use_reserve[d]
        for i in range(groups.source_of[d], groups.source_of[d + 1]):
            tank = groups.source_tank[i]
            g = groups.of_tank[tank]
            left, reserve, drawn = today.left[g], groups.reserve[g], today.drawn[tank]
            outlet = groups.below_outlet[tank]
            for k in range(designs):
                free = max(0.0, left[k] - max(reserve[k] * ordinary, outlet[k]))
                take = min(lacks[k], free)
                lacks[k] -= take
                delivered[k] += take
                drawn[k] += take
                left[k] -= take


def ask(day: int, d: int, groups: Groups, draws: Draws, today: Today, designs: int) -> None:
    """What a draw wants, and what of it its own rule holds back while its tanks are low.

    A stop keeps what would take the water below its level, like a float switch; a step of saving goes by
    the level of the morning, because people look at the gauge once.
    """
    wanted, held_back = today.wanted[d], today.held_back[d]
    if draws.bed[d] >= 0:
        bed = today.thirst[draws.bed[d]]
        for k in range(designs):
            wanted[k] = bed[k]
    else:
        amount = draws.wanted[d][day]
        for k in range(designs):
            wanted[k] = amount
    for k in range(designs):
        held_back[k] = 0.0
    for c in range(groups.cut_of[d], groups.cut_of[d + 1]):
        below, keeps = groups.cut_below[c], draws.cut_keeps[c]
        looked_at = today.left if draws.cut_stops[c] > 0 else today.opening
        for k in range(designs):
            level = 0.0
            for i in range(groups.source_of[d], groups.source_of[d + 1]):
                level += looked_at[groups.of_tank[groups.source_tank[i]]][k]
            if draws.cut_stops[c] > 0:
                above = max(0.0, level - below[k])
                less = max(0.0, wanted[k] - above) if above > SHORT * wanted[k] else wanted[k]
            else:
                less = wanted[k] * (1.0 - keeps[k]) if level < below[k] else 0.0
            held_back[k] = max(held_back[k], less)


def serve(draws: Draws, helpers: Helpers, today: Today, designs: int) -> None:
    """Direct backup covers what the draws it names lack, up to its daily limit."""
    for d in range(len(draws.wanted)):
        served = today.backup_served[d]
        for k in range(designs):
            served[k] = 0.0
    for b in range(len(helpers.direct_limit)):
        limit, direct = helpers.direct_limit[b], today.direct[b]
        for k in range(designs):
            direct[k] = 0.0
        for i in range(helpers.serve_of[b], helpers.serve_of[b + 1]):
            lacks, served = today.lacks[helpers.serve_draw[i]], today.backup_served[helpers.serve_draw[i]]
            for k in range(designs):
                gives = min(lacks[k], max(0.0, limit[k] - direct[k]))
                lacks[k] -= gives
                served[k] += gives
                direct[k] += gives


def spill(groups: Groups, state: State, today: Today, before_spill: bool, designs: int) -> None:
    """Fill to the lip and spill: V1 = min(V0 + Q - Y, S - Y) for YAS, min(V0 + Q - Y, S) for YBS."""
    for t in range(len(today.overflow)):
        overflow, received = today.overflow[t], today.received[t]
        for k in range(designs):
            overflow[k] = 0.0
            received[k] = 0.0
    for g in groups.order:
        capacity, drawable, opening = groups.capacity[g], state.drawable[g], today.opening[g]
        arriving, left, overflow = today.arriving[g], today.left[g], today.overflow[groups.spills_from[g]]
        for k in range(designs):
            if before_spill:
                full, after = capacity[k], left[k]
            else:  # the room the draws made today stays empty: S - Y = (S - V0) + what they left
                full = min(capacity[k], left[k] + max(0.0, capacity[k] - opening[k]))
                after = left[k] + arriving[k]
            drawable[k] = min(after, full)
            overflow[k] = after - drawable[k]
        into = groups.spills_into[g]
        if into >= 0:
            received, left, arriving = (
                today.received[into],
                today.left[groups.of_tank[into]],
                today.arriving[groups.of_tank[into]],
            )
            for k in range(designs):
                received[k] += overflow[k]
                if before_spill:
                    left[k] += overflow[k]
                else:
                    arriving[k] += overflow[k]


def transfer(groups: Groups, helpers: Helpers, state: State, today: Today, designs: int) -> None:
    """Transfer pumps lift water while the receiving tanks are below their start level; the reserve stays."""
    if len(helpers.transfer_from) == 0:
        return
    for t in range(len(today.transfer_in)):
        into, out = today.transfer_in[t], today.transfer_out[t]
        for k in range(designs):
            into[k] = 0.0
            out[k] = 0.0
    for p in range(len(helpers.transfer_from)):
        source, target = helpers.transfer_from[p], helpers.transfer_to[p]
        a, b = groups.of_tank[source], groups.of_tank[target]
        gives, takes, capacity = state.drawable[a], state.drawable[b], groups.capacity[b]
        rate, below = helpers.transfer_rate[p], groups.transfer_below[p]
        reserve, outlet = groups.reserve[a], groups.below_outlet[source]
        out, into = today.transfer_out[source], today.transfer_in[target]
        for k in range(designs):
            room = max(0.0, capacity[k] - takes[k])
            free = max(0.0, gives[k] - max(reserve[k], outlet[k]))
            moved = min(rate[k], free, room) if takes[k] < below[k] and a != b else 0.0
            gives[k] -= moved
            takes[k] += moved
            out[k] += moved
            into[k] += moved


def refill(day: int, groups: Groups, helpers: Helpers, state: State, today: Today, designs: int) -> None:
    """Backup that tops up a tank: flowing water at once, loads after the hauler's lead time."""
    if len(helpers.refill_tank) == 0:
        return
    for t in range(len(today.refill)):
        into = today.refill[t]
        for k in range(designs):
            into[k] = 0.0
    for b in range(len(helpers.refill_tank)):
        tank = helpers.refill_tank[b]
        g = groups.of_tank[tank]
        drawable, capacity, into = state.drawable[g], groups.capacity[g], today.refill[tank]
        below, aim = groups.refill_below[b], groups.refill_to[b]
        load, limit, lead, hauls = helpers.load[b], helpers.refill_limit[b], helpers.lead[b], helpers.hauls[b]
        due, ordered = state.due[b], state.ordered[b]
        supplied, loads = today.supplied[b], today.loads[b]
        for k in range(designs):
            level = drawable[k]
            room = max(0.0, capacity[k] - level)
            if due[k] == NEVER and level < below[k]:
                due[k] = float(day + lead)
                if hauls:
                    ordered[k] = max(1.0, float(ceil((aim[k] - level) / load[k])))
            supplied[k] = 0.0
            loads[k] = 0.0
            if due[k] != NEVER and due[k] <= day:
                if hauls:
                    loads[k] = ordered[k]
                    supplied[k] = min(ordered[k] * load[k], room)
                    due[k] = NEVER
                else:
                    supplied[k] = min(max(0.0, aim[k] - level), limit[k], room)
                    due[k] = NEVER if level + supplied[k] >= aim[k] else due[k]
            drawable[k] = level + supplied[k]
            into[k] += supplied[k]


def lose(et0: float, tanks: Tanks, groups: Groups, state: State, today: Today, designs: int) -> None:
    """Leak and evaporation: first from the common water above the tank's outlet, then from its bottom."""
    for t in tanks.leaky:
        g = groups.of_tank[t]
        drawable, floor, below = state.drawable[g], groups.below_outlet[t], state.below[t]
        rate, leak, evaporation = tanks.leak[t], today.leak[t], today.evaporation[t]
        exposed, surface = tanks.open[t], tanks.bottom[t]
        for k in range(designs):
            evaporation[k] = et0 * exposed[k] * surface[k]
        for s in range(groups.step_of[t], groups.step_of[t + 1]):
            start, surface = groups.step_start[s], groups.step_area[s]
            for k in range(designs):
                evaporation[k] = et0 * exposed[k] * surface[k] if drawable[k] > start[k] else evaporation[k]
        for k in range(designs):
            wanted = rate[k] + evaporation[k]
            above = min(wanted, max(0.0, drawable[k] - floor[k]))
            under = min(wanted - above, below[k])
            drawable[k] -= above
            below[k] -= under
            leak[k] = min(rate[k], above + under)
            evaporation[k] = above + under - leak[k]


def equalise(tanks: Tanks, groups: Groups, state: State, today: Today, designs: int) -> None:
    """One surface in every group: water above an outlet fills a bottom that leaked empty."""
    for t in tanks.leaky:
        g = groups.of_tank[t]
        drawable, floor, below, dead = (
            state.drawable[g],
            groups.below_outlet[t],
            state.below[t],
            tanks.dead[t],
        )
        for k in range(designs):
            flows = min(max(0.0, dead[k] - below[k]), max(0.0, drawable[k] - floor[k]))
            drawable[k] -= flows
            below[k] += flows


def stand(t: int, k: int, groups: Groups, state: State) -> float:
    """Water in tank `t` above its outlet, from the volume of its group [L]."""
    volume = state.drawable[groups.of_tank[t]][k]
    stands = 0.0
    for s in range(groups.step_of[t], groups.step_of[t + 1]):
        stands += groups.step_share[s][k] * max(
            0.0, min(volume - groups.step_start[s][k], groups.step_size[s][k])
        )
    return stands


def book(day: int, groups: Groups, state: State, today: Today, kept: Today, states: State) -> None:
    """Write the first design's day: its fluxes, and the water that stands at its end."""
    for t in range(len(groups.of_tank)):
        today.storage[t][0] = state.below[t][0] + stand(t, 0, groups, state)
    for j in range(len(today)):
        fluxes, columns = today[j], kept[j]
        for e in range(len(columns)):
            columns[e][day] = fluxes[e][0]
    for j in range(5):  # wet, chamber, pack, below, depletion
        volumes, columns = state[j], states[j]
        for e in range(len(columns)):
            columns[e][day + 1] = volumes[e][0]


def regroup(groups: Groups, after: Groups, state: State, today: Today, designs: int) -> None:
    """Hand the water over when a valve opens or closes: every tank takes what stands in it."""
    for t in range(len(groups.of_tank)):
        stands = today.storage[t]
        for k in range(designs):
            stands[k] = stand(t, k, groups, state)
    for g in range(len(groups.of_tank)):
        drawable = state.drawable[g]
        for k in range(designs):
            drawable[k] = 0.0
    for t in range(len(groups.of_tank)):
        stands, drawable = today.storage[t], state.drawable[after.of_tank[t]]
        for k in range(designs):
            drawable[k] += stands[k]


def tally(
    groups: Groups, draws: Draws, helpers: Helpers, state: State, today: Today, tallies: Tally, designs: int
) -> None:
    """Add the day to the running scores of every design; nothing else is kept of it."""
    for k in range(designs):
        asked, delivered, dry, unserved, held_back = 0.0, 0.0, 0.0, 0.0, 0.0
        for d in range(len(draws.wanted)):
            ask_of_draw = today.wanted[d][k] - today.held_back[d][k]
            short = ask_of_draw - today.delivered[d][k]
            asked += ask_of_draw
            delivered += today.delivered[d][k]
            dry = 1.0 if short > SHORT * ask_of_draw else dry
            unserved = 1.0 if short - today.backup_served[d][k] > SHORT * ask_of_draw else unserved
            held_back = 1.0 if today.held_back[d][k] > 0.0 else held_back
        tallies.asked[0][k] += asked
        tallies.delivered[0][k] += delivered
        tallies.dry_days[0][k] += dry
        tallies.unserved_days[0][k] += unserved
        tallies.held_back_days[0][k] += held_back
        tallies.spell[0][k] = tallies.spell[0][k] + 1.0 if dry > 0.0 else 0.0
        tallies.longest[0][k] = max(tallies.longest[0][k], tallies.spell[0][k])
    for k in range(designs):
        inflow, spilled, stored, filled_in = 0.0, 0.0, 0.0, 0.0
        for t in range(len(today.inflow)):
            inflow += today.inflow[t][k]
            filled_in += today.refill[t][k]
            if groups.to_ground[t] > 0:
                spilled += today.overflow[t][k]
        for g in range(len(groups.order)):
            stored += state.drawable[g][k]
        tallies.inflow[0][k] += inflow
        tallies.overflow[0][k] += spilled
        before_refill = max(0.0, stored - filled_in)
        tallies.lowest[0][k] = min(tallies.lowest[0][k], before_refill)
    for b in range(len(helpers.refill_tank)):
        for k in range(designs):
            tallies.supplied[b][k] += today.supplied[b][k]
            tallies.loads[b][k] += today.loads[b][k]
    for b in range(len(helpers.direct_limit)):
        for k in range(designs):
            tallies.served[b][k] += today.direct[b][k]
    for k in range(designs):
        stressed = 0.0
        for b in range(len(today.stressed)):
            tallies.stress_days[b][k] += today.stressed[b][k]
            stressed = max(stressed, today.stressed[b][k])
        tallies.stressed_days[0][k] += stressed


def reaching_ground(sky: Sky) -> Row:
    """Rain and melt that reach open ground every day, snow lying until it thaws [mm]."""
    pack, water = 0.0, []
    for rain, snow, thaw in zip(sky.rain, sky.snow, sky.thaw, strict=True):
        melt = min(pack + snow, thaw)
        pack = pack + snow - melt
        water.append(rain + melt)
    return water
