"""The model's arithmetic written down once and done again for every chunk of draws.

The model itself runs once, on a few draws that note every operation done to them (`notes`). What does not
depend on the draws is a constant by then; constants that follow one another become one (`folding`); what no
result needs is left out. A limit that the model checks is proved for the whole range of the inputs where that
can be done (`intervals`), and checked in every chunk where not (`program`). It stays one model: the tape holds
what its functions did, and is compared with them on other draws before it is used (`chunks`).
"""
