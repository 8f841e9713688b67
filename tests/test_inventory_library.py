"""Order quantities against an open inventory library of other people: stockpyl 1.0.2, run on inputs drawn at random.

Its answers stand here as it gave them, to ten digits, since it draws a documentation system into every environment it
is installed in. Functions: eoq.economic_order_quantity and its siblings, newsvendor.newsvendor_normal,
loss_functions.standard_normal_loss.
"""

from __future__ import annotations

import pytest

from costmodel.formulas import economic_order, inventory, newsvendor
from costmodel.formulas.order_quantity import cheapest_order_quantity

FINE = 1e-4
"""Step of order quantities, where the library takes any quantity."""

# fmt: off
EOQ = (
    ( (93.214, 5.082, 8340.632) , (553.1433809, 2811.074662) ),
    ( (7.925, 4.803, 818.095) , (51.95893121, 249.5587466) ),
    ( (61.363, 0.725, 6966.705) , (1085.95792, 787.319492) ),
    ( (152.818, 1.15, 2443.575) , (805.8721922, 926.753021) ),
    ( (46.088, 3.609, 7733.079) , (444.4180724, 1603.904823) ),
)
BACKORDERS = (
    ( (95.802, 4.62, 36.068, 1906.545) , (298.6599369, 0.1135469917, 1223.135758) ),
    ( (42.091, 2.253, 3.745, 4336.23) , (509.4041731, 0.3756252084, 716.5872074) ),
    ( (83.078, 7.635, 24.418, 8634.969) , (496.664572, 0.2381992325, 2888.774417) ),
    ( (24.704, 0.633, 48.227, 1845.8) , (382.0504458, 0.01295538273, 238.7048292) ),
    ( (130.158, 0.993, 59.379, 2155.217) , (757.9187496, 0.01644802226, 740.2343178) ),
)
PRODUCTION = (
    ( (127.827, 7.157, 2705.971, 3960.312) , (552.4325353, 1252.26569) ),
    ( (169.273, 4.72, 2370.496, 7094.46) , (505.3169197, 1588.155685) ),
    ( (5.106, 1.966, 4282.356, 16053.531) , (174.1728297, 251.0806051) ),
    ( (92.248, 1.797, 2928.687, 9516.194) , (659.0631311, 819.8471607) ),
    ( (155.674, 3.028, 1513.905, 3072.787) , (553.9288994, 850.9238179) ),
)
ALL_UNITS = (
    ( (165.736, 0.239, 730.342, [0, 255, 645], [4.541, 4.359, 4.087]) , (645.0, 3487.588553) ),
    ( (102.319, 0.156, 5987.109, [0, 355, 504], [14.262, 13.692, 12.836]) , (782.2121732, 78416.84529) ),
    ( (91.536, 0.115, 3962.002, [0, 340, 884], [19.666, 18.879, 17.699]) , (884.0, 71433.36901) ),
    ( (40.971, 0.184, 1670.761, [0, 167, 929], [13.943, 13.385, 12.549]) , (929.0, 22112.60206) ),
    ( (124.892, 0.149, 3807.061, [0, 137, 576], [4.532, 4.351, 4.079]) , (1250.855778, 16289.23569) ),
)
INCREMENTAL = (
    ( (165.736, 0.239, 730.342, [0, 255, 645], [4.541, 4.359, 4.087]) , (761.308901, 3755.060034) ),
    ( (102.319, 0.156, 5987.109, [0, 355, 504], [14.262, 13.692, 12.836]) , (2098.035202, 81101.10475) ),
    ( (91.536, 0.115, 3962.002, [0, 340, 884], [19.666, 18.879, 17.699]) , (2336.466802, 74954.44813) ),
    ( (40.971, 0.184, 1670.761, [0, 167, 929], [13.943, 13.385, 12.549]) , (426.6391763, 23422.45313) ),
    ( (124.892, 0.149, 3807.061, [0, 137, 576], [4.532, 4.351, 4.079]) , (1959.100286, 16733.2056) ),
)
NEWSVENDOR = (
    ( (4.913, 19.313, 605.834, 57.323) , (653.5076109, 392.0366668) ),
    ( (4.979, 16.884, 651.638, 31.799) , (675.3703042, 209.9340636) ),
    ( (3.915, 5.761, 124.073, 33.27) , (132.1055125, 124.7386735) ),
    ( (1.422, 19.433, 732.9, 30.852) , (778.8523631, 84.65915709) ),
    ( (1.921, 9.338, 865.264, 46.117) , (909.1545515, 131.6996282) ),
)
UNIT_LOSS = (
    ( (-1.213,) , (1.267622869,) ),
    ( (-0.852,) , (0.961576955,) ),
    ( (2.82,) , (0.0007115379486,) ),
    ( (2.424,) , (0.002530030469,) ),
    ( (0.873,) , (0.105498533,) ),
)
# fmt: on


@pytest.mark.parametrize(("given", "answer"), EOQ)
def test_the_economic_order_quantity(given: tuple[float, ...], answer: tuple[float, ...]) -> None:
    order, holding, demand = given
    quantity = economic_order.economic_order_quantity(demand, order, holding)
    cost = economic_order.order_and_holding_cost(quantity, demand, order, holding)
    assert (quantity, cost) == pytest.approx(answer, rel=1e-9)


@pytest.mark.parametrize(("given", "answer"), BACKORDERS)
def test_planned_shortages(given: tuple[float, ...], answer: tuple[float, ...]) -> None:
    order, holding, shortage, demand = given
    plan = economic_order.order_quantity_with_backorders(demand, order, holding, shortage)
    assert (plan.quantity, plan.short_share, plan.cost) == pytest.approx(answer, rel=1e-9)


@pytest.mark.parametrize(("given", "answer"), PRODUCTION)
def test_a_lot_that_fills_up_while_it_is_used(given: tuple[float, ...], answer: tuple[float, ...]) -> None:
    order, holding, demand, rate = given
    assert tuple(economic_order.economic_production_quantity(demand, order, holding, rate)) == pytest.approx(
        answer, rel=1e-9
    )


@pytest.mark.parametrize(
    ("rule", "given", "answer"),
    [("all_units", *case) for case in ALL_UNITS] + [("incremental", *case) for case in INCREMENTAL],
)
def test_price_breaks(rule: str, given: tuple, answer: tuple[float, ...]) -> None:
    order, rate, demand, breaks, prices = given
    found = cheapest_order_quantity(
        demand, order, breaks, prices, rule=rule, holding_rate=rate, multiple=FINE
    )
    assert found.yearly_cost == pytest.approx(answer[1], rel=1e-9)
    assert found.quantity == pytest.approx(answer[0], rel=1e-5)


@pytest.mark.parametrize(("given", "answer"), NEWSVENDOR)
def test_a_single_season(given: tuple[float, ...], answer: tuple[float, ...]) -> None:
    over, under, mean, spread = given
    quantity = newsvendor.newsvendor_quantity(mean, spread, under, over)
    cost = newsvendor.newsvendor_cost(quantity, mean, spread, under, over)
    assert (quantity, cost) == pytest.approx(answer, rel=1e-8)


@pytest.mark.parametrize(("given", "answer"), UNIT_LOSS)
def test_the_unit_normal_loss(given: tuple[float, ...], answer: tuple[float, ...]) -> None:
    assert inventory.unit_normal_loss(given[0]) == pytest.approx(answer[0], rel=1e-7)
