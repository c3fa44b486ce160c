import pytest
from uuid import uuid4

def test_all(signed_in, job):
    for p in ("/rack/","/rack/buy/","/rack/bought","/rack/found"):
        a=signed_in.get(p); assert a.status_code==200,(p,a.content)
    a=signed_in.post("/rack/bought",{"form_key":str(uuid4()),"count":"3","alloy":"5052-H32","thickness":"16 ga","label":"S1","length":"2500","width":"1250","price":"96","place":"Back wall"})
    assert a.status_code==302,a.content.decode()
    a=signed_in.post("/rack/found",{"form_key":str(uuid4()),"sides":"4","count":"1","alloy":"5052-H32","thickness":"1.5","side_0":"500","side_1":"1300","side_2":"1600","side_3":"2000","diagonal_0":"1200","price":"6","place":"Back wall","reason":"x"})
    assert a.status_code==302,a.content.decode()
    for p in ("/rack/","/rack/1/","/rack/2/","/rack/?q=R2","/rack/?length=2000&width=500","/rack/labels.pdf?sheet=A4%2C+3+x+7&first=2"):
        a=signed_in.get(p); assert a.status_code==200,(p,a.content.decode())
