import warnings
from costmodel.decision import decide
from costmodel.page import page_html, draw
from costmodel.page.behind import tables_behind
from costmodel.cli.cost import cost_tables, costed
from costmodel.cli.compare import comparison_tables
from costmodel.cli.brief import decision_tables
from costmodel.tables.renderings import *
def go(study):
    d=decide(study,draws=64); p=draw(d); h=page_html(d,p)
    r=next(iter(study.part.routes))
    for t in [*tables_behind(d,p).values(),*decision_tables(d).values(),*comparison_tables(d.comparison).values(),*cost_tables(study,costed(study,r,None,"cash"),r,"cash",100).values()]:
        for w in (60,80,110): [to_rich(x,w) for x in fitted(t,w)]
        to_html(t); to_csv(t); to_frame(t); to_dict(t)
    return h
def test_plain(plain): __import__("pathlib").Path("/tmp/plain.html").write_text(go(plain))
def test_small(small): __import__("pathlib").Path("/tmp/small.html").write_text(go(small))
