"""The clamp by hand: one NumPy function for this one case, everything that is not drawn worked out beforehand.

What somebody would write who needs this answer once and fast: no records, no lines, no limits, no addresses.
It takes the same draws and gives the same results as the library, which `run.py` checks. Only for comparison.
"""

from __future__ import annotations

import datetime

import numpy as np
from scipy.special import erfcx, ndtri

from costmodel.cut_time import cut_time
from costmodel.records.study import Study
from costmodel.tool_use import tool_uses

HOUR, YEAR_MONTHS = 60.0, 12
ROUTE = "part.routes.rotary.steps.five-sides"
SERIES = ("", "metals", "machines", "energy", "wages", "tools", "services", "freight", "general")


def prepare(study: Study):
    """The function that costs a block of draws; `rows` are arrays by address."""
    rates, finance, demand = study.rates, study.finance, study.demand
    route = study.part.routes["rotary"]
    five, sixth, anodise, label = route.steps.values()
    lot, horizon = study.alternatives["make-rotary"].lot, finance.horizon
    blank, stock = study.part.blank, rates.materials[study.part.blank.material]
    mass = (blank.length + blank.kerf) * blank.width * blank.height * stock.density
    chips = (blank.finished_mass - mass) * stock.chip_credit
    cuts = {
        step.name: [cut_time(step, c, rates, stock.name) for c in step.cuts.values()]
        for step in (five, sixth)
    }
    drawn = {
        "rough-dovetail": five.cuts["rough-dovetail"].efficiency,
        "surface-saddle": five.cuts["surface-saddle"].feed,
    }
    per_unit = {c.name: c.in_cut * drawn[c.name] for c in cuts["five-sides"] if c.name in drawn}
    fixed_cuts = sum(c.minutes - (c.in_cut if c.name in drawn else 0.0) for c in cuts["five-sides"])
    sixth_cuts = sum(c.minutes for c in cuts["sixth-side"])
    loss_at = float(ndtri(finance.service))
    unit_loss = float(
        np.exp(-(loss_at**2) / 2)
        / np.sqrt(2 * np.pi)
        * (1 - loss_at * np.sqrt(np.pi / 2) * erfcx(loss_at / np.sqrt(2)))
    )
    month_rate = np.log1p(finance.discount_rate) / YEAR_MONTHS
    at_month = [float(np.exp(-m * month_rate)) for m in range(horizon + 1)]
    storage = finance.holding - finance.discount_rate

    def tool_changes(step):
        used = [cut.tool for cut in step.cuts.values()]
        return sum(1 for a, b in zip([used[-1], *used], used, strict=False) if a != b)

    def machine_load(step, machine):
        own = step.hands_on if step.loading == "inside" else machine.pallet_swap
        moves = step.index_moves * machine.index_time + step.probing + own
        return (step.programme or 0.0) + tool_changes(step) * machine.tool_change + moves

    big, small = rates.machines["mill-5x"], rates.machines["mill-3x"]
    five_load, sixth_load = machine_load(five, big), machine_load(sixth, small)

    def tools_of(step):
        """By tool: cost a part for each unit of price, minutes in cut held constant, and change minutes a part."""
        found = {}
        for name in dict.fromkeys(cut.tool for cut in step.cuts.values()):
            tool, in_cut = rates.tools[name], sum(c.in_cut for c in cuts[step.name] if c.tool == name)
            good = next(
                use.parts_per_edge
                for use in tool_uses(step.name, cuts[step.name], rates.tools)
                if use.tool == name
            )
            found[name] = (
                1 / (tool.edges * (1 + tool.regrinds) * good),
                tool.regrinds * tool.regrind_price,
                tool.change_minutes / good,
                in_cut,
            )
        return found

    five_tools, sixth_tools = tools_of(five), tools_of(sixth)

    def annuity(price, machine):
        i, n = machine.interest, machine.life
        factor = i * (1 + i) ** n / ((1 + i) ** n - 1)
        return (price - machine.salvage) * factor + machine.salvage * i

    def hour(machine, x, hours):
        name = f"rates.machines.{machine.name}"
        floor = machine.floor_area * x[f"rates.spaces.{machine.space}.price"]
        allocated = (annuity(x[f"{name}.purchase_price"], machine) + floor + machine.maintenance) / (
            hours * HOUR
        )
        return (
            allocated,
            machine.power * machine.load_factor / HOUR * x["rates.energy.electricity.price"],
            machine.consumables / HOUR,
        )

    wage = {
        n: (1 + rates.labour[n].on_costs)
        for n in ("operator", "assembler", "programmer", "setter", "inspector")
    }
    once_hours = {
        n: sum(
            o.hours * o.share * at_month[o.month]
            for o in route.once.values()
            if o.cost is None and o.labour == n
        )
        for n in wage
    }
    once_fixed = sum(
        o.share * o.cost * at_month[o.month]
        for o in route.once.values()
        if o.cost is not None and o.name != "rotary-fixture"
    )
    once_fixed -= sum(o.share * o.end_value for o in route.once.values()) * at_month[horizon]
    fixture = route.once["rotary-fixture"].share * at_month[route.once["rotary-fixture"].month]

    def weights(x):
        """Worth today of a dollar a month, by series and by whether it follows the volume."""
        volume = np.log1p(x["demand.growth"])
        found = {}
        for series in SERIES:
            prices = np.log1p(x[f"rates.indices.{series}.yearly_change"]) if series else 0.0
            for grows in (True, False):
                found[series, grows] = (prices + (volume if grows else 0.0)) / YEAR_MONTHS - month_rate
        return found

    def months(log_ratio, first=1, last=horizon):
        n = last - first + 1
        if np.ndim(log_ratio) == 0:
            return float(np.exp(first * log_ratio) * np.expm1(n * log_ratio) / np.expm1(log_ratio))
        return np.exp(first * log_ratio) * np.expm1(n * log_ratio) / np.expm1(log_ratio)

    def shelf(x, part_value, lead_days, sd_days, order, prepaid, use_up=0):
        """Yearly cost of stock (interest, cash) and worth of the money in it."""
        weekly = x["demand.per_year"] / demand.weeks
        weeks, sd = lead_days * (demand.weeks / 365), sd_days * (demand.weeks / 365)
        spread = np.sqrt(weeks * demand.weekly_sd**2 + (weekly * sd) ** 2)
        value = (loss_at * spread + order / 2) * part_value
        short = unit_loss * spread * x["demand.per_year"] / order * x["demand.shortage_cost"]
        paid = sum(at_month[1 : use_up + 1]) / use_up if use_up else 1.0
        held = (value + prepaid * x["demand.per_year"]) * (paid - at_month[horizon])
        return value * finance.discount_rate, value * storage + short, held

    def make(x, w):
        volume, operator = x["demand.per_year"], x["rates.labour.operator.wage"] * (wage["operator"] / HOUR)
        yields = (
            x[f"{ROUTE}.step_yield"],
            sixth.step_yield,
            x["rates.processors.anodiser.process_yield"],
            label.step_yield,
        )
        into = [1 / yields[3]]
        for y in reversed(yields[:3]):
            into.insert(0, into[0] / y)
        dovetail = per_unit["rough-dovetail"] / x[f"{ROUTE}.cuts.rough-dovetail.efficiency"]
        saddle = per_unit["surface-saddle"] / x[f"{ROUTE}.cuts.surface-saddle.feed"]
        more = {
            "end-mill-16mm-4f": (dovetail - cuts_in["rough-dovetail"]) / five_tools["end-mill-16mm-4f"][3]
            + 1,
            "ball-mill-8mm-2f": saddle / five_tools["ball-mill-8mm-2f"][3],
            "drill-11.8mm": rates.tools["drill-11.8mm"].parts_per_edge
            / x['rates.tools."drill-11.8mm".parts_per_edge'],
        }
        tooling, changes = 0.0, 0.0
        for name, (share, regrind, change, _) in five_tools.items():
            cost = (x[price_of[name]] + regrind) * share
            tooling = tooling + (cost * more[name] if name in more else cost)
            changes = changes + (change * more[name] if name in more else change)
        part_minutes = fixed_cuts + dovetail + saddle + changes
        allocated, power, running = hour(big, x, x["rates.machines.mill-5x.practical_hours"])
        attendance = x[f"{ROUTE}.attendance"]
        machine = part_minutes + five_load / five.parts_per_load
        hands = five.inspection + changes + attendance * (part_minutes - changes)
        hands = hands + (x[f"{ROUTE}.hands_on"] + attendance * five_load) / five.parts_per_load
        sixth_cost = sum((x[price_of[n]] + r) * s for n, (s, r, _, _) in sixth_tools.items())
        sixth_changes = sum(c for _, _, c, _ in sixth_tools.values())
        sixth_machine = sixth_cuts + sixth_changes + sixth_load / sixth.parts_per_load
        sixth_hands = sixth.inspection + sixth_changes + sixth.hands_on / sixth.parts_per_load
        small_allocated, small_power, small_running = hour(small, x, small.practical_hours)
        big_lot, small_lot = five.set_up / lot, sixth.set_up / lot
        hands_lot = (
            five.set_up
            + five.inspection_per_lot
            + sixth.set_up
            + sixth.inspection_per_lot
            + anodise.inspection_per_lot
        )
        assembler = x["rates.labour.assembler.wage"] * (wage["assembler"] / HOUR)
        price = x["rates.processors.anodiser.price"]
        minimum = np.maximum(rates.processors["anodiser"].lot_minimum - price * (lot * into[2]), 0.0)
        transport = rates.processors["anodiser"].transport
        packaging, sticker = (sum(i.cost for i in s.items.values()) for s in (anodise, label))
        metals = (mass * x["rates.materials.aluminium-6061.price"] + blank.saw + chips) * into[0]
        tools = tooling * into[0] + sixth_cost * into[1]
        energy = power * (machine * into[0] + big_lot) + small_power * (sixth_machine * into[1] + small_lot)
        machines = running * (machine * into[0] + big_lot) + small_running * (
            sixth_machine * into[1] + small_lot
        )
        other = allocated * (machine * into[0] + big_lot) + small_allocated * (
            sixth_machine * into[1] + small_lot
        )
        wages = operator * (
            hands * into[0] + sixth_hands * into[1] + anodise.inspection * into[2] + hands_lot / lot
        )
        wages = wages + assembler * (
            (label.hands_on + label.inspection) * into[3] + (label.set_up + label.inspection_per_lot) / lot
        )
        services = price * into[2] + (minimum + transport) / lot
        plain = packaging * into[2] + sticker * into[3]
        by_series = {
            "metals": metals,
            "tools": tools,
            "energy": energy,
            "machines": machines,
            "wages": wages,
            "services": services,
            "": plain,
        }
        cash = sum(by_series.values())
        yearly = sum(y.cost for y in route.yearly.values())
        interest, cash_year, held = shelf(x, cash, route.lead_time, route.lead_time_sd, lot, 0.0)
        per_part = cash + other + (yearly + interest + cash_year) / volume
        worth = sum(amount * w[series, True] for series, amount in by_series.items()) * (volume / YEAR_MONTHS)
        yearly_series = {}
        for row in route.yearly.values():
            yearly_series[row.series] = yearly_series.get(row.series, 0.0) + row.cost
        for series, amount in yearly_series.items():
            worth = worth + amount / YEAR_MONTHS * w[series, False]
        worth = worth + cash_year / YEAR_MONTHS * w["", False] + held + once_fixed
        worth = worth + fixture * x["part.routes.rotary.once.rotary-fixture.cost"]
        for name, hours in once_hours.items():
            if hours:
                worth = worth + hours * wage[name] * x[f"rates.labour.{name}.wage"]
        return per_part, worth

    cuts_in = {c.name: c.in_cut for c in cuts["five-sides"]}
    price_of = {n: f'rates.tools."{n}".price' if "." in n else f"rates.tools.{n}.price" for n in rates.tools}

    def buy(name, x, w):
        alternative = study.alternatives[name]
        quote = study.quotes[alternative.buy]
        place = f"quotes.{quote.name}"

        def get(field):
            return x.get(f"{place}.{field}", getattr(quote, field))

        volume, parts = (
            x["demand.per_year"],
            max(alternative.lot, quote.minimum_order, next(iter(quote.tiers.values())).quantity),
        )
        exchange = 1.0 if quote.currency == "USD" else x[f"rates.currency.{quote.currency}.rate"]
        tier = [t for t in quote.tiers if quote.tiers[t].quantity <= parts][-1]
        packing = quote.packaging * exchange
        price = x.get(f"{place}.tiers.{tier}.price", quote.tiers[tier].price) * exchange + packing
        rejected = get("rejected_at_receipt") + get("rejected_at_assembly") + get("rejected_in_field")
        bought = 1 / (1 - rejected)
        shipment, cash_part, later = 0.0, price, {}
        entry = quote.delivery_term in ("FCA", "FOB")
        if quote.freight and entry:
            lane = rates.freight[quote.freight]
            weight = parts * max(quote.packed_mass, quote.packed_volume * lane.volumetric_density)
            carriage = np.maximum(weight * x[f"rates.freight.{lane.name}.price"], lane.minimum)
            shipment = (
                carriage + lane.insurance * 1.1 * (parts * price + carriage) + lane.broker + lane.inland
            )
            shipment = shipment + (lane.origin if quote.delivery_term == "FCA" else 0.0)
        fees = 0.0
        if entry:
            content = price * quote.content_share
            for layer in (rates.duties[n] for n in quote.duties):
                base = {"full": price, "content": content, "remainder": price - content}[layer.base]
                amount = base * x[f"rates.duties.{layer.name}.rate"]
                last = months_until(study.as_of, layer.valid_to)
                cash_part = cash_part + amount
                later[last] = later.get(last, 0.0) + amount
            for fee in (rates.entry_fees[n] for n in quote.entry_fees):
                value = np.maximum(x[f"rates.entry_fees.{fee.name}.rate"] * (price * parts), fee.minimum)
                fees = fees + np.minimum(value, fee.maximum)
        financed = quote.deposit_share * quote.deposit_days + (1 - quote.deposit_share) * quote.balance_days
        prepaid = price * bought * (financed / 365)
        in_use = bought * (
            get("rejected_at_assembly") * x["rates.faults.assembly.cost"]
            + get("rejected_in_field") * x["rates.faults.field.cost"]
        )
        faults = bought * get("rejected_at_receipt") * x["rates.faults.receipt.cost"] + in_use
        replaced = (bought - 1) * (cash_part - quote.credited * price)
        good = parts / bought
        carried = shipment / good
        later = {last: amount * bought for last, amount in later.items()}
        use_up = alternative.use_up if alternative.current else 0
        fee_part = fees / good
        cash = cash_part + carried + fee_part + faults + replaced
        interest, cash_year, held = shelf(
            x, cash - in_use, get("lead_time"), quote.lead_time_sd, good, prepaid, use_up
        )
        per_part = (
            cash + prepaid * finance.discount_rate + (quote.contact_cost + interest + cash_year) / volume
        )
        dated = sum(amount for last, amount in later.items() if last < horizon)
        always = cash - carried - dated
        worth = (always * w["", True] + carried * w["freight", True]) * (volume / YEAR_MONTHS)
        for last, amount in later.items():
            if last < horizon:
                worth = worth + amount * volume / YEAR_MONTHS * w["short", last]
        worth = worth + (quote.contact_cost + cash_year) / YEAR_MONTHS * w["", False] + held
        once = 0.0 if alternative.current else quote.equipment + quote.qualification + quote.first_article
        return per_part, worth + once * exchange

    ends = sorted({months_until(study.as_of, layer.valid_to) for layer in rates.duties.values()})

    def cost(x):
        """Running cost a part and worth today of the made one and of three offers."""
        ratios = weights(x)
        w = {key: months(ratio) for key, ratio in ratios.items()}
        for last in ends:
            if last < horizon:
                w["short", last] = months(ratios["", True], 1, last)
        found = [make(x, w), *(buy(name, x, w) for name in ("status-quo", "overseas-b", "regional-c"))]
        return [per_part for per_part, _ in found] + [worth for _, worth in found]

    return cost


def months_until(as_of: datetime.date, day: datetime.date) -> int:
    """Whole months from the decision to a day, its own month as the first."""
    return (day.year - as_of.year) * 12 + day.month - as_of.month + 1
