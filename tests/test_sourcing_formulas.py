"""Every sourcing formula: arrays are stacks of floats; every limit holds for a float and inside an array."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

import numpy as np
import pytest

from costmodel.errors import LimitError
from costmodel.formulas import (
    customs,
    disruption,
    economic_order,
    freight,
    inventory,
    landed,
    lead_time,
    newsvendor,
    order_quantity,
    payment,
    quality,
    sampling,
    scoring,
    stock_cost,
    uncertain_supply,
)

NAN = float("nan")
DRAWS = 4
LOG = np.array([61.0, 70.0, 72.0, 88.0, 93.0, 104.0, 131.0])


class Case(NamedTuple):
    """A formula, the range each number is tried in, the values each must refuse, and fixed options."""

    formula: Callable[..., Any]
    ranges: dict[str, tuple[float, float]]
    refused: dict[str, tuple[float, ...]]
    options: dict[str, Any] = {}  # noqa: RUF012
    tag: str = ""


def tiers(quantity: Any, first: Any, second: Any, third: Any, rule: str = "all_units") -> Any:
    return landed.tier_price(quantity, (1.0, 100.0, 500.0), (first, second, third), rule=rule)


def moving_break(quantity: Any, reached: Any) -> Any:
    return landed.tier_price(quantity, (1.0, reached), (9.0, 7.0))


def layers(value: Any, rate: Any, on_top: Any, content_value: Any) -> Any:
    return customs.duty_layers(
        value,
        (rate, 0.5, on_top),
        ("full", "content", "remainder"),
        content_value=content_value,
        stacked=(False, False, True),
    )


def by_breaks(chargeable: Any, rate: Any, minimum: Any) -> Any:
    return freight.freight_charge_by_breaks(chargeable, (0.0, 45.0, 100.0), (rate, 3.0, 2.5), minimum=minimum)


def yearly(quantity: Any, demand: Any, order_cost: Any, price: Any, charge: Any, **more: Any) -> Any:
    return order_quantity.yearly_order_cost(
        quantity,
        demand,
        order_cost,
        (1.0, 500.0),
        (price, 4.0),
        step_quantities=(200.0,),
        step_charges=(charge,),
        **more,
    )


def found_faults(receipt: Any, cost: Any, parts: Any) -> Any:
    return quality.fault_costs((receipt, 3.0), (cost, 65.0), parts)


def score(first: Any, second: Any, weight: Any) -> Any:
    return scoring.weighted_score((first, second, 2.0), (weight, 0.3, 0.1))


def flip(first: Any, second: Any, weight: Any) -> Any:
    return scoring.flip_weight((first, 5.0, 4.0), (second, 2.0, 3.0), (0.6, weight, 0.1), 0)


def law(name: str) -> lead_time.LeadTimeFit:
    return lead_time.fit_lead_time(LOG, family=name)


MONEY = (1.0, 5000.0)
SHARE = (0.02, 0.9)
NEGATIVE = (-0.01, NAN)
NOT_POSITIVE = (0.0, -1.0, NAN)
NOT_SHARE = (-0.01, 1.01, NAN)
OPEN_SHARE = (0.0, 1.0, NAN)
ORDER = {"demand": (100.0, 9000.0), "order_cost": (1.0, 300.0), "holding_cost": (0.1, 5.0)}
ORDER_REFUSED: dict[str, tuple[float, ...]] = {
    "demand": NEGATIVE,
    "order_cost": NEGATIVE,
    "holding_cost": NOT_POSITIVE,
}
NORMAL = {"mean": (50.0, 900.0), "spread": (5.0, 90.0)}
UNRELIABLE = ORDER | {
    "shortage_cost": (0.5, 9.0),
    "disruption_rate": (0.1, 3.0),
    "recovery_rate": (5.0, 30.0),
}
UNRELIABLE_REFUSED: dict[str, tuple[float, ...]] = {
    "demand": NOT_POSITIVE,
    "order_cost": NEGATIVE,
    "holding_cost": NEGATIVE,
    "shortage_cost": NEGATIVE,
    "disruption_rate": NEGATIVE,
    "recovery_rate": NOT_POSITIVE,
}
FILL = {"spread": (5.0, 90.0), "order_quantity": (50.0, 900.0)}
LOT = {"acceptance": SHARE, "sample": (5.0, 80.0), "lot_size": (100.0, 900.0)}
LOT_REFUSED: dict[str, tuple[float, ...]] = {
    "acceptance": NOT_SHARE,
    "sample": (-1.0, 1e4, NAN),
    "lot_size": (1.0, NAN),
}
SIDES = {"length": (100.0, 900.0), "width": (100.0, 500.0), "height": (50.0, 300.0), "divisor": (5e6, 7e6)}
TERMS = {
    "amount": MONEY,
    "yearly_interest": SHARE,
    "deposit_share": SHARE,
    "deposit_days_before": (-30.0, 120.0),
    "balance_days_before": (-30.0, 60.0),
    "compared_days_after": (0.0, 60.0),
    "days_in_year": (360.0, 366.0),
}
TERMS_REFUSED: dict[str, tuple[float, ...]] = {
    "amount": NEGATIVE,
    "yearly_interest": NEGATIVE,
    "deposit_share": NOT_SHARE,
    "days_in_year": NOT_POSITIVE,
}
CREDIT = {
    "discount": (0.0, 0.05),
    "discount_days": (5.0, 15.0),
    "net_days": (20.0, 90.0),
    "days_in_year": (360.0, 366.0),
}
CREDIT_REFUSED: dict[str, tuple[float, ...]] = {
    "discount": (-0.01, 1.0, NAN),
    "discount_days": (-1.0, 200.0, NAN),
    "net_days": (5.0, NAN),
    "days_in_year": NOT_POSITIVE,
}
TIERS = {"quantity": (1.0, 900.0), "first": (8.0, 9.0), "second": (6.0, 7.0), "third": (4.0, 5.0)}
TIERS_REFUSED: dict[str, tuple[float, ...]] = {
    "quantity": NOT_POSITIVE,
    "first": NEGATIVE,
    "second": NEGATIVE,
    "third": NEGATIVE,
}
YEARLY = {
    "quantity": (10.0, 900.0),
    "demand": (100.0, 9000.0),
    "order_cost": (0.0, 300.0),
    "price": (5.0, 9.0),
    "charge": (0.0, 90.0),
    "holding_rate": (0.0, 0.4),
    "holding_cost": (0.0, 3.0),
}
INSPECTION = {
    "bad_share": (0.0, 0.9),
    "inspection_cost": (0.0, 5.0),
    "escape_cost": (0.5, 90.0),
    "detection": SHARE,
}
CASES = [
    Case(tiers, TIERS, TIERS_REFUSED),
    Case(tiers, TIERS, TIERS_REFUSED, {"rule": "incremental"}, "incremental"),
    Case(moving_break, {"quantity": (1.0, 900.0), "reached": (2.0, 800.0)}, {"reached": (1.0, 0.5, NAN)}),
    Case(
        landed.ordered_quantity,
        {"needed": (1.0, 900.0), "minimum_order": (0.0, 500.0), "multiple": (1.0, 60.0)},
        {"needed": NOT_POSITIVE, "minimum_order": NEGATIVE, "multiple": NOT_POSITIVE},
    ),
    Case(
        landed.home_money,
        {"amount": (-90.0, 90.0), "exchange_rate": (0.1, 3.0)},
        {"exchange_rate": NOT_POSITIVE},
    ),
    Case(
        landed.home_money,
        {"amount": (-90.0, 90.0), "exchange_rate": (0.1, 3.0)},
        {"exchange_rate": NOT_POSITIVE},
        {"quoted": "foreign_per_home"},
        "inverse",
    ),
    *(
        Case(
            customs.customs_value,
            {
                "price": (100.0, 900.0),
                "carriage_in_price": (0.0, 90.0),
                "freight": (0.0, 90.0),
                "insurance": (0.0, 9.0),
                "assists": (0.0, 99.0),
            },
            {
                "price": (*NEGATIVE, 1e-6),
                "carriage_in_price": (*NEGATIVE, 1000.0),
                "freight": NEGATIVE,
                "insurance": NEGATIVE,
                "assists": NEGATIVE,
            },
            {"basis": basis},
            basis,
        )
        for basis in ("FOB", "CIF")
    ),
    *(
        Case(
            customs.duty_layer,
            {
                "value": (100.0, 900.0),
                "rate": (0.0, 1.5),
                "content_value": (0.0, 90.0),
                "other_duty": (0.0, 50.0),
            },
            {"value": NEGATIVE, "rate": NEGATIVE, "content_value": (*NEGATIVE, 1e4), "other_duty": NEGATIVE},
            {"base": base, "stacked": base == "remainder"},
            base,
        )
        for base in customs.DUTY_BASES
    ),
    Case(
        layers,
        {"value": (100.0, 900.0), "rate": SHARE, "on_top": SHARE, "content_value": (0.0, 90.0)},
        {"value": NEGATIVE, "rate": NEGATIVE, "on_top": NEGATIVE, "content_value": (*NEGATIVE, 1e4)},
    ),
    Case(
        customs.entry_fee,
        {"value": (0.0, 3e5), "rate": (0.001, 0.005), "minimum": (10.0, 40.0), "maximum": (300.0, 900.0)},
        {"value": NEGATIVE, "rate": NEGATIVE, "minimum": (*NEGATIVE, 1000.0), "maximum": (1.0, NAN)},
    ),
    Case(
        customs.entry_fee_breakpoints,
        {"rate": (0.001, 0.005), "minimum": (10.0, 40.0), "maximum": (300.0, 900.0)},
        {"rate": NOT_POSITIVE, "minimum": (*NEGATIVE, 1000.0), "maximum": (1.0, NAN)},
    ),
    *(
        Case(
            customs.harbour_fee,
            {"value": MONEY, "rate": SHARE},
            {"value": NEGATIVE, "rate": NEGATIVE},
            {"mode": mode},
            mode,
        )
        for mode in ("sea", "air")
    ),
    Case(freight.volumetric_weight, SIDES, dict.fromkeys(SIDES, NOT_POSITIVE)),
    *(
        Case(
            freight.volumetric_weight,
            SIDES | {"side_step": (5.0, 25.4)},
            dict.fromkeys((*SIDES, "side_step"), NOT_POSITIVE),
            {"side_rounding": rounding},
            rounding,
        )
        for rounding in ("nearest", "up")
    ),
    Case(
        freight.chargeable_weight,
        {"actual_weight": (1.0, 90.0), "deemed_weight": (0.0, 90.0), "step": (0.5, 1.0)},
        {"actual_weight": NOT_POSITIVE, "deemed_weight": NEGATIVE, "step": NOT_POSITIVE},
    ),
    Case(
        freight.weight_or_measure,
        {"weight": (100.0, 4000.0), "volume": (1e8, 4e9), "divisor": (1e6, 2e6), "minimum": (0.0, 2.0)},
        {"weight": NOT_POSITIVE, "volume": NOT_POSITIVE, "divisor": NOT_POSITIVE, "minimum": NEGATIVE},
    ),
    Case(
        freight.freight_charge,
        {"chargeable": (1.0, 90.0), "rate": (0.0, 9.0), "minimum": (0.0, 300.0), "surcharge": (0.0, 0.4)},
        {"chargeable": NOT_POSITIVE, "rate": NEGATIVE, "minimum": NEGATIVE, "surcharge": NEGATIVE},
    ),
    Case(
        by_breaks,
        {"chargeable": (1.0, 200.0), "rate": (3.0, 6.0), "minimum": (0.0, 100.0)},
        {"chargeable": NOT_POSITIVE, "rate": (2.9, NAN), "minimum": NEGATIVE},
    ),
    Case(
        freight.stepped_charge,
        {"quantity": (1.0, 900.0), "step_quantity": (20.0, 300.0), "step_charge": (0.0, 90.0)},
        {"quantity": NOT_POSITIVE, "step_quantity": NOT_POSITIVE, "step_charge": NEGATIVE},
    ),
    *(
        Case(
            freight.insurance_premium,
            {"goods_value": MONEY, "rate": (0.001, 0.02), "freight": (0.0, 90.0), "uplift": (0.0, 0.2)},
            {"goods_value": NEGATIVE, "rate": NOT_SHARE, "freight": NEGATIVE, "uplift": NEGATIVE},
            {"premium_insured": insured},
            f"insured {insured}",
        )
        for insured in (False, True)
    ),
    *(
        Case(payment.payment_terms_cost, TERMS, TERMS_REFUSED, {"interest": interest}, interest)
        for interest in ("simple", "effective")
    ),
    *(
        Case(payment.trade_credit_cost, CREDIT, CREDIT_REFUSED, {"interest": interest}, interest)
        for interest in ("simple", "effective")
    ),
    Case(
        payment.days_financed_cost,
        {"amount": (-9.0, 90.0), "days": (-30.0, 90.0), "yearly_interest": SHARE, "days_in_year": (360, 366)},
        {"yearly_interest": NEGATIVE, "days_in_year": NOT_POSITIVE},
    ),
    *(
        Case(
            payment.letter_of_credit_charge,
            {
                "amount": MONEY,
                "issue_share": (0.0, 0.02),
                "confirmation_share": (0.0, 0.02),
                "minimum": (0.0, 90.0),
                "flat_charges": (0.0, 90.0),
            },
            {
                "amount": NEGATIVE,
                "issue_share": NOT_SHARE,
                "confirmation_share": NOT_SHARE,
                "minimum": NEGATIVE,
                "flat_charges": NEGATIVE,
            },
            {"confirmed": confirmed},
            f"confirmed {confirmed}",
        )
        for confirmed in (False, True)
    ),
    Case(
        found_faults,
        {"receipt": (0.0, 20.0), "cost": (0.0, 99.0), "parts": (100.0, 2000.0)},
        {"receipt": NEGATIVE, "cost": NEGATIVE, "parts": NOT_POSITIVE},
    ),
    Case(
        quality.inspection_threshold,
        {"inspection_cost": (0.0, 5.0), "escape_cost": (0.5, 90.0), "detection": SHARE},
        {"inspection_cost": NEGATIVE, "escape_cost": NOT_POSITIVE, "detection": (0.0, 1.01, NAN)},
    ),
    *(
        Case(
            quality.inspection_policy_cost,
            INSPECTION,
            {
                "bad_share": (*NOT_SHARE, 1.0),
                "inspection_cost": NEGATIVE,
                "escape_cost": NEGATIVE,
                "detection": NOT_SHARE,
            },
            {"policy": policy},
            policy,
        )
        for policy in ("none", "all", "cheapest")
    ),
    Case(
        quality.inspection_policy_cost,
        INSPECTION,
        {"bad_share": NOT_SHARE},
        {"replacement_inspected": False},
        "not replaced",
    ),
    *(
        Case(
            quality.share_limits,
            {"bad": (0.0, 20.0), "sampled": (20.0, 300.0), "confidence": (0.5, 0.99)},
            {"bad": (*NEGATIVE, 400.0), "sampled": (*NOT_POSITIVE, 5e-3), "confidence": OPEN_SHARE},
            {"sides": sides},
            sides,
        )
        for sides in ("one", "two")
    ),
    Case(quality.rule_of_three, {"sampled": (3.0, 900.0)}, {"sampled": NOT_POSITIVE}),
    Case(
        quality.sample_to_prove,
        {"bad_share": SHARE, "confidence": SHARE},
        {"bad_share": OPEN_SHARE, "confidence": OPEN_SHARE},
    ),
    *(
        Case(
            quality.share_outside_tolerance,
            {"capability": (0.0, 2.0), "shift": (0.0, 1.5)},
            {"capability": NEGATIVE, "shift": NEGATIVE},
            {"sides": sides},
            sides,
        )
        for sides in ("one", "two")
    ),
    Case(sampling.code_sample_size, {"lot_size": (2.0, 600000.0)}, {"lot_size": (1.0, NAN)}),
    Case(sampling.single_sampling_plan, {"lot_size": (2.0, 600000.0)}, {"lot_size": (1.0, NAN)}),
    Case(
        sampling.acceptance_probability,
        {"bad_share": (0.0, 1.0), "sample": (5.0, 80.0), "accept": (0.0, 4.0)},
        {"bad_share": NOT_SHARE, "sample": NEGATIVE, "accept": NEGATIVE},
    ),
    Case(
        sampling.average_total_inspection,
        LOT,
        LOT_REFUSED,
    ),
    *(
        Case(
            sampling.average_outgoing_quality,
            {"bad_share": (0.0, 1.0)} | LOT,
            {"bad_share": NOT_SHARE} | LOT_REFUSED,
            {"bad_parts": fate},
            fate,
        )
        for fate in ("replaced", "removed")
    ),
    Case(
        sampling.incoming_inspection_cost,
        LOT | {"inspection_cost": (0.0, 3.0), "sorting_cost": (0.0, 3.0)},
        LOT_REFUSED | {"inspection_cost": NEGATIVE, "sorting_cost": NEGATIVE},
    ),
    Case(
        inventory.lead_time_demand,
        {
            "demand": (0.0, 90.0),
            "demand_spread": (0.0, 20.0),
            "lead_time": (0.0, 14.0),
            "lead_time_spread": (0.0, 3.0),
        },
        dict.fromkeys(("demand", "demand_spread", "lead_time", "lead_time_spread"), NEGATIVE),
    ),
    Case(inventory.safety_factor, {"cycle_service": SHARE}, {"cycle_service": OPEN_SHARE}),
    Case(
        inventory.safety_stock,
        {"spread": (0.0, 90.0), "factor": (-2.0, 4.0)},
        {"spread": NEGATIVE},
    ),
    Case(inventory.unit_normal_loss, {"factor": (-40.0, 40.0)}, {"factor": (NAN,)}),
    Case(inventory.inverse_unit_normal_loss, {"loss": (1e-12, 9.0)}, {"loss": NOT_POSITIVE}),
    *(
        Case(
            formula,
            {"stock": (-90.0, 300.0)} | FILL,
            {"spread": NEGATIVE, "order_quantity": NOT_POSITIVE},
            {"counting": "new_in_cycle"},
        )
        for formula in (inventory.expected_shortage, inventory.fill_rate)
    ),
    Case(
        inventory.expected_shortage,
        {"stock": (-90.0, 300.0), "spread": (5.0, 90.0)},
        {"spread": NEGATIVE},
        {},
        "cycle end",
    ),
    *(
        Case(
            inventory.safety_stock_for_fill_rate,
            FILL | {"wanted": SHARE},
            {"spread": NEGATIVE, "order_quantity": NOT_POSITIVE, "wanted": OPEN_SHARE},
            {"counting": counting},
            counting,
        )
        for counting in inventory.COUNTINGS
    ),
    Case(inventory.cycle_service, {"stock": (-90.0, 300.0), "spread": (5.0, 90.0)}, {"spread": NEGATIVE}),
    Case(
        stock_cost.reorder_point,
        {"mean_demand": (0.0, 900.0), "stock": (-9.0, 400.0)},
        {"mean_demand": NEGATIVE},
    ),
    Case(stock_cost.cycle_stock, {"order_quantity": (0.0, 900.0)}, {"order_quantity": NEGATIVE}),
    Case(
        stock_cost.pipeline_stock,
        {"demand": (0.0, 90.0), "transit_time": (0.0, 9.0)},
        {"demand": NEGATIVE, "transit_time": NEGATIVE},
    ),
    Case(
        stock_cost.holding_cost,
        {"stock": (0.0, 900.0), "unit_value": (0.0, 40.0), "holding_rate": (0.0, 0.4)},
        dict.fromkeys(("stock", "unit_value", "holding_rate"), NEGATIVE),
    ),
    Case(
        stock_cost.bridge_stock,
        {
            "demand": (0.0, 90.0),
            "ramp_time": (0.0, 9.0),
            "margin_time": (0.0, 4.0),
            "made_in_ramp": (0.0, 300.0),
        },
        dict.fromkeys(("demand", "ramp_time", "margin_time", "made_in_ramp"), NEGATIVE),
    ),
    Case(
        stock_cost.last_buy,
        {
            "demand": (0.0, 90.0),
            "time_to_cover": (0.0, 40.0),
            "in_stock": (0.0, 300.0),
            "on_order": (0.0, 300.0),
            "safety": (0.0, 100.0),
        },
        dict.fromkeys(("demand", "time_to_cover", "in_stock", "on_order", "safety"), NEGATIVE),
    ),
    Case(
        stock_cost.use_up_time,
        {"stock": (0.0, 900.0), "demand": (1.0, 90.0)},
        {"stock": NEGATIVE, "demand": NOT_POSITIVE},
    ),
    Case(
        stock_cost.engineering_change_cost,
        {
            "stock_on_shelf": (0.0, 900.0),
            "stock_afloat": (0.0, 900.0),
            "unit_value": (10.0, 40.0),
            "unusable_share": (0.0, 1.0),
            "recovered": (-5.0, 9.0),
        },
        {
            "stock_on_shelf": NEGATIVE,
            "stock_afloat": NEGATIVE,
            "unit_value": (*NEGATIVE, -9.0),
            "unusable_share": NOT_SHARE,
            "recovered": (90.0, NAN),
        },
    ),
    Case(
        economic_order.order_and_holding_cost,
        {"quantity": (1.0, 900.0)} | ORDER,
        {"quantity": NOT_POSITIVE, "demand": NEGATIVE, "order_cost": NEGATIVE, "holding_cost": NEGATIVE},
    ),
    Case(economic_order.economic_order_quantity, ORDER, ORDER_REFUSED),
    Case(
        economic_order.economic_production_quantity,
        {
            "demand": (100.0, 900.0),
            "set_up_cost": (1.0, 300.0),
            "holding_cost": (0.1, 5.0),
            "production_rate": (1000.0, 9000.0),
        },
        {
            "demand": (*NEGATIVE, 1e5),
            "set_up_cost": NEGATIVE,
            "holding_cost": NOT_POSITIVE,
            "production_rate": (*NOT_POSITIVE, 50.0),
        },
    ),
    Case(
        economic_order.order_quantity_with_backorders,
        ORDER | {"shortage_cost": (0.5, 20.0)},
        ORDER_REFUSED | {"shortage_cost": NOT_POSITIVE},
    ),
    Case(
        economic_order.order_quantity_with_yield,
        ORDER | {"yield_mean": (-300.0, 5.0), "yield_spread": (0.0, 90.0)},
        dict.fromkeys(ORDER, NOT_POSITIVE) | {"yield_spread": NEGATIVE, "yield_mean": (1e9, NAN)},
        {"kind": "additive"},
        "additive",
    ),
    Case(
        economic_order.order_quantity_with_yield,
        ORDER | {"yield_mean": (0.5, 1.0), "yield_spread": (0.0, 0.2)},
        dict.fromkeys(ORDER, NOT_POSITIVE) | {"yield_spread": NEGATIVE, "yield_mean": NOT_POSITIVE},
    ),
    Case(
        newsvendor.critical_ratio,
        {"underage_cost": (0.1, 9.0), "overage_cost": (0.1, 9.0)},
        {"underage_cost": NOT_POSITIVE, "overage_cost": NOT_POSITIVE},
    ),
    Case(
        newsvendor.newsvendor_quantity,
        NORMAL | {"underage_cost": (0.1, 9.0), "overage_cost": (0.1, 9.0)},
        {"mean": NEGATIVE, "spread": NEGATIVE, "underage_cost": NOT_POSITIVE, "overage_cost": NOT_POSITIVE},
    ),
    Case(
        newsvendor.newsvendor_cost,
        {"quantity": (0.0, 900.0)} | NORMAL | {"underage_cost": (0.0, 9.0), "overage_cost": (0.0, 9.0)},
        {"mean": NEGATIVE, "spread": NEGATIVE, "underage_cost": NEGATIVE, "overage_cost": NEGATIVE},
    ),
    Case(
        newsvendor.newsvendor_profit,
        {"quantity": (0.0, 900.0)}
        | NORMAL
        | {"price": (5.0, 9.0), "unit_cost": (2.0, 4.0), "salvage": (0.0, 1.0)},
        {"mean": NEGATIVE, "spread": NEGATIVE, "price": (1.0, NAN), "salvage": (5.0, NAN)},
    ),
    Case(
        uncertain_supply.reorder_policy_cost,
        {"reorder_point": (0.0, 900.0), "order_quantity": (20.0, 900.0)}
        | ORDER
        | NORMAL
        | {"shortage_cost": (0.5, 9.0)},
        {
            "order_quantity": NOT_POSITIVE,
            "demand": NEGATIVE,
            "mean": NEGATIVE,
            "spread": NOT_POSITIVE,
            "order_cost": NEGATIVE,
            "holding_cost": NOT_POSITIVE,
            "shortage_cost": NOT_POSITIVE,
        },
    ),
    Case(
        uncertain_supply.cheapest_reorder_point,
        {"order_quantity": (20.0, 900.0), "holding_cost": (0.1, 5.0), "shortage_cost": (0.5, 9.0)} | NORMAL,
        {
            "order_quantity": NOT_POSITIVE,
            "mean": NEGATIVE,
            "spread": NOT_POSITIVE,
            "holding_cost": NOT_POSITIVE,
            "shortage_cost": NOT_POSITIVE,
        },
    ),
    Case(
        uncertain_supply.cheapest_reorder_policy,
        ORDER | NORMAL | {"shortage_cost": (0.5, 9.0)},
        {
            "demand": NOT_POSITIVE,
            "mean": NEGATIVE,
            "spread": NOT_POSITIVE,
            "order_cost": NOT_POSITIVE,
            "holding_cost": NOT_POSITIVE,
            "shortage_cost": NOT_POSITIVE,
        },
    ),
    *(
        Case(
            uncertain_supply.unreliable_order_cost,
            {"quantity": (20.0, 3000.0)} | UNRELIABLE,
            {"quantity": NOT_POSITIVE} | UNRELIABLE_REFUSED,
            {"method": method},
            method,
        )
        for method in uncertain_supply.METHODS
    ),
    *(
        Case(
            uncertain_supply.unreliable_order_quantity,
            UNRELIABLE,
            UNRELIABLE_REFUSED | {"order_cost": NOT_POSITIVE, "holding_cost": NOT_POSITIVE},
            {"method": method},
            method,
        )
        for method in uncertain_supply.METHODS
    ),
    *(
        Case(
            yearly,
            YEARLY,
            {name: NOT_POSITIVE if name == "quantity" else NEGATIVE for name in YEARLY},
            {"rule": rule},
            rule,
        )
        for rule in landed.TIER_RULES
    ),
    *(
        Case(
            lead_time.lead_time_quantile,
            {"share": SHARE},
            {"share": NOT_SHARE if name == "empirical" else OPEN_SHARE},
            {"fit": law(name)},
            name,
        )
        for name in lead_time.FAMILIES
    ),
    *(
        Case(formula, {argument: (20.0, 150.0)}, {argument: NOT_POSITIVE}, {"fit": law(name)}, name)
        for name in lead_time.FAMILIES
        for formula, argument in (
            (lead_time.chance_within, "days"),
            (lead_time.expected_days_late, "promised_days"),
        )
    ),
    *(
        Case(
            disruption.disruption_loss,
            {
                "yearly_chance": (0.0, 2.0),
                "duration": (1.0, 12.0),
                "demand": (0.0, 90.0),
                "margin": (0.0, 90.0),
                "bridged": (0.0, 9.0),
            },
            {
                "yearly_chance": NEGATIVE,
                "duration": NOT_POSITIVE,
                "demand": NEGATIVE,
                "margin": NEGATIVE,
                "bridged": NEGATIVE,
            },
            {"law": duration_law},
            duration_law,
        )
        for duration_law in ("fixed", "exponential")
    ),
    Case(
        disruption.time_beyond_bridge,
        {"duration": (1.0, 12.0), "bridged": (0.0, 9.0)},
        {"duration": NOT_POSITIVE, "bridged": NEGATIVE},
    ),
    Case(
        disruption.second_source_value,
        {
            "volume": (0.0, 9000.0),
            "share": (0.0, 1.0),
            "price_difference": (-3.0, 9.0),
            "loss_alone": (0.0, 9000.0),
            "loss_with_both": (0.0, 900.0),
            "upkeep": (0.0, 900.0),
        },
        {
            "volume": NEGATIVE,
            "share": NOT_SHARE,
            "loss_alone": NEGATIVE,
            "loss_with_both": NEGATIVE,
            "upkeep": NEGATIVE,
        },
    ),
    Case(
        disruption.availability,
        {"mean_time_up": (1.0, 900.0), "mean_time_down": (0.0, 30.0)},
        {"mean_time_up": NOT_POSITIVE, "mean_time_down": NEGATIVE},
    ),
    Case(
        disruption.availability_of_two,
        {"first": (0.0, 1.0), "second": (0.0, 1.0), "common_cause": (0.0, 1.0)},
        dict.fromkeys(("first", "second", "common_cause"), NOT_SHARE),
    ),
    Case(
        scoring.non_price_index,
        {"non_price_cost": (0.0, 900.0), "purchases": (1.0, 900.0)},
        {"non_price_cost": NEGATIVE, "purchases": NOT_POSITIVE},
    ),
    Case(
        scoring.total_per_unit,
        {"price": (0.0, 90.0), "index": (0.0, 1.0)},
        {"price": NEGATIVE, "index": NEGATIVE},
    ),
    Case(
        scoring.passes_gate,
        {"value": (0.0, 9.0), "at_least": (2.0, 4.0), "at_most": (5.0, 7.0)},
        {"value": (NAN,)},
    ),
    Case(score, {"first": (1.0, 5.0), "second": (1.0, 5.0), "weight": (0.0, 1.0)}, {"weight": NEGATIVE}),
    Case(flip, {"first": (1.0, 5.0), "second": (1.0, 5.0), "weight": (0.0, 1.0)}, {"weight": NEGATIVE}),
]


def name(case: Case) -> str:
    return f"{case.formula.__module__.rpartition('.')[2]}.{case.formula.__name__} {case.tag}".strip()


def values(case: Case) -> dict[str, np.ndarray]:
    generator = np.random.default_rng(sum(name(case).encode()))
    drawn = {}
    for argument, (low, high) in case.ranges.items():
        inside = generator.uniform(low, high, DRAWS)
        inside[0], inside[-1] = low, high
        whole = argument in ("sample", "accept", "lot_size", "bad", "sampled")
        drawn[argument] = np.round(inside) if whole else inside
    return drawn


def fields(result: Any) -> Iterator[Any]:
    """Every number of a result; lines of a result that has a total give it too."""
    yield from result if isinstance(result, tuple) else (result,)
    if hasattr(result, "total"):
        yield result.total


def assert_same(many: Any, singles: list[Any]) -> None:
    for position, column in enumerate(fields(many)):
        stack = [list(fields(single))[position] for single in singles]
        np.testing.assert_allclose(
            np.broadcast_to(column, len(singles)).astype(float),
            np.array(stack, dtype=float),
            rtol=1e-9,
            atol=1e-12,
        )


MODULES = (
    customs, disruption, economic_order, freight, inventory, landed, lead_time, newsvendor, order_quantity,
    payment, quality, sampling, scoring, stock_cost, uncertain_supply,
)  # fmt: skip
WRAPPED = {
    "tier_price", "duty_layers", "freight_charge_by_breaks", "yearly_order_cost", "fault_costs", "weighted_score",
    "flip_weight",
}  # fmt: skip


def test_no_formula_of_these_modules_is_left_out() -> None:
    public = {
        function.__name__
        for module in MODULES
        for function in vars(module).values()
        if inspect.isfunction(function)
        and function.__module__ == module.__name__
        and not function.__name__.startswith("_")
        and any("Number" in str(annotation) for annotation in function.__annotations__.values())
    }
    assert (
        public == {case.formula.__name__ for case in CASES if case.formula.__module__ != __name__} | WRAPPED
    )


@pytest.mark.parametrize("case", CASES, ids=name)
def test_a_float_gives_floats(case: Case) -> None:
    first = {argument: float(drawn[1]) for argument, drawn in values(case).items()}
    with np.errstate(all="raise"):
        for number in fields(case.formula(**first, **case.options)):
            assert isinstance(number, float | bool | np.bool_), type(number)


@pytest.mark.parametrize("case", CASES, ids=name)
def test_arrays_are_stacks_of_floats(case: Case) -> None:
    drawn = values(case)
    with np.errstate(all="raise"):
        singles = [
            case.formula(**{argument: float(row[i]) for argument, row in drawn.items()}, **case.options)
            for i in range(DRAWS)
        ]
        many = case.formula(**drawn, **case.options)
    assert_same(many, singles)


@pytest.mark.parametrize("case", CASES, ids=name)
def test_each_argument_alone_may_be_an_array(case: Case) -> None:
    drawn = values(case)
    middle = {argument: float(row[1]) for argument, row in drawn.items()}
    for argument in drawn:
        array = np.sort(drawn[argument])
        with np.errstate(all="raise"):
            singles = [case.formula(**middle | {argument: float(number)}, **case.options) for number in array]
            many = case.formula(**middle | {argument: array}, **case.options)
        assert_same(many, singles)


@pytest.mark.parametrize("case", [case for case in CASES if len(case.ranges) > 1], ids=name)
def test_a_column_meets_draws(case: Case) -> None:
    drawn = values(case)
    column, *rest = drawn
    middle = {argument: float(drawn[argument][1]) for argument in rest[1:]}
    with np.errstate(all="raise"):
        grid = case.formula(
            **{column: drawn[column][:, None], rest[0]: drawn[rest[0]]}, **middle, **case.options
        )
        rows = [
            case.formula(**{column: float(one), rest[0]: drawn[rest[0]]}, **middle, **case.options)
            for one in drawn[column]
        ]
    for position, block in enumerate(fields(grid)):
        for index, row in enumerate(rows):
            whole = np.broadcast_to(block, (DRAWS, DRAWS)).astype(float)
            single = np.broadcast_to(list(fields(row))[position], DRAWS).astype(float)
            np.testing.assert_allclose(whole[index], single, rtol=1e-9, atol=1e-12)


LIMITS = [
    pytest.param(case, argument, bad, id=f"{name(case)} {argument}={bad:g}")
    for case in CASES
    for argument, refused in case.refused.items()
    for bad in refused
]


@pytest.mark.parametrize(("case", "argument", "bad"), LIMITS)
def test_every_limit_holds(case: Case, argument: str, bad: float) -> None:
    middle = {key: float(row[1]) for key, row in values(case).items()}
    case.formula(**middle, **case.options)
    with pytest.raises(LimitError):
        case.formula(**middle | {argument: bad}, **case.options)
    with pytest.raises(LimitError):
        case.formula(**middle | {argument: np.array([middle[argument], bad])}, **case.options)


WORDS = [
    (lambda word: landed.tier_price(1.0, (1.0,), (1.0,), rule=word), "rule"),
    (lambda word: landed.home_money(1.0, 1.0, quoted=word), "quoted"),
    (lambda word: customs.customs_value(1.0, basis=word), "basis"),
    (lambda word: customs.duty_layer(1.0, 0.1, base=word), "base"),
    (lambda word: customs.harbour_fee(1.0, 0.1, mode=word), "mode"),
    (lambda word: freight.volumetric_weight(1.0, 1.0, 1.0, side_rounding=word), "side_rounding"),
    (lambda word: payment.days_financed_cost(1.0, 1.0, 0.1, interest=word), "interest"),
    (lambda word: payment.trade_credit_cost(0.02, 10.0, 30.0, interest=word), "interest"),
    (lambda word: quality.inspection_policy_cost(0.1, 1.0, 1.0, policy=word), "policy"),
    (lambda word: quality.share_limits(0.0, 9.0, sides=word), "sides"),
    (lambda word: quality.share_outside_tolerance(1.0, sides=word), "sides"),
    (lambda word: sampling.code_letter(100, word), "level"),
    (lambda word: sampling.code_sample_size(100.0, level=word), "level"),
    (lambda word: sampling.single_sampling_plan(100.0, level=word), "level"),
    (lambda word: sampling.average_outgoing_quality(0.1, 0.5, 5.0, 50.0, bad_parts=word), "bad_parts"),
    (lambda word: inventory.expected_shortage(1.0, 1.0, counting=word), "counting"),
    (lambda word: inventory.safety_stock_for_fill_rate(1.0, 9.0, 0.9, counting=word), "counting"),
    (lambda word: economic_order.order_quantity_with_yield(9.0, 1.0, 1.0, 1.0, 0.0, kind=word), "kind"),
    (lambda word: uncertain_supply.unreliable_order_cost(1, 9, 1, 1, 1, 1, 1, method=word), "method"),
    (lambda word: uncertain_supply.unreliable_order_quantity(9, 1, 1, 1, 1, 1, method=word), "method"),
    (lambda word: order_quantity.cheapest_order_quantity(9.0, 1.0, (1.0,), (1.0,), rule=word), "rule"),
    (lambda word: lead_time.fit_lead_time(LOG, family=word), "family"),
    (lambda word: disruption.time_beyond_bridge(1.0, 0.0, law=word), "law"),
]


@pytest.mark.parametrize(("formula", "argument"), WORDS)
def test_an_unknown_word_is_refused_with_the_known_ones(formula: Callable[[str], Any], argument: str) -> None:
    with pytest.raises(LimitError, match=f'{argument} must be one of ".*, got "something else"'):
        formula("something else")
