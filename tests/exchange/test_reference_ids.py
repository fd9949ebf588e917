"""Ids of whole events, as the reference implementation works them out.

Each event below was given to epcis-event-hash-generator 1.9.3 (github.com/RalphTro/epcis-event-hash-generator), which
read it out of a document of ours with its own JSON-LD processor; the id in it is what came out.
"""

from __future__ import annotations

import json
from typing import Any

import pytest

from trayward.exchange.event_hash import event_id

EVENTS: list[dict[str, Any]] = json.loads(
    """
[
{
 "type": "TransformationEvent",
 "eventTime": "2026-11-01T21:00:00.000Z",
 "eventTimeZoneOffset": "+00:00",
 "bizStep": "creating_class_instance",
 "disposition": "sellable_not_accessible",
 "readPoint": {
  "id": "urn:uuid:df031649-9a8c-58f3-a6d6-f30145341258"
 },
 "bizLocation": {
  "id": "urn:uuid:df031649-9a8c-58f3-a6d6-f30145341258"
 },
 "inputQuantityList": [
  {
   "epcClass": "urn:uuid:3772e9a8-6004-5baa-b649-cb2ed5033bbc",
   "quantity": 300,
   "uom": "GRM"
  }
 ],
 "outputQuantityList": [
  {
   "epcClass": "https://id.gs1.org/01/04012345111118/10/P1-G",
   "quantity": 6
  }
 ],
 "ilmd": {
  "cbvmda:bestBeforeDate": "2026-12-04"
 },
 "eventID": "ni:///sha-256;14a3db5d71ea4b44e0675f6a7e9790247532fd560dbd7fce5f9ab87d2666e5ef?ver=CBV2.0",
 "recordTime": "2026-11-01T21:00:00.000Z",
 "errorDeclaration": {
  "declarationTime": "2026-11-02T01:05:00.000Z",
  "reason": "did_not_occur"
 }
},
{
 "type": "ObjectEvent",
 "eventTime": "2026-11-01T23:00:00.000Z",
 "eventTimeZoneOffset": "+00:00",
 "action": "OBSERVE",
 "bizStep": "shipping",
 "disposition": "in_transit",
 "readPoint": {
  "id": "urn:uuid:df031649-9a8c-58f3-a6d6-f30145341258"
 },
 "quantityList": [
  {
   "epcClass": "urn:uuid:e22b4759-89a7-5928-8d3d-9f4e46d12ba2",
   "quantity": 2
  },
  {
   "epcClass": "urn:uuid:3772e9a8-6004-5baa-b649-cb2ed5033bbc",
   "quantity": 100,
   "uom": "GRM"
  }
 ],
 "bizTransactionList": [
  {
   "type": "po",
   "bizTransaction": "urn:uuid:68f9d3df-902c-5ae3-becf-e3c96a4116d0"
  },
  {
   "type": "desadv",
   "bizTransaction": "urn:uuid:65843f72-b244-5169-be94-812e555b3fdf"
  }
 ],
 "sourceList": [
  {
   "type": "possessing_party",
   "source": "urn:uuid:a8845aea-afa8-55fa-83bb-35af27b3c537"
  }
 ],
 "destinationList": [
  {
   "type": "possessing_party",
   "destination": "urn:uuid:b938e927-a046-52b3-8093-e4a03b32d474"
  }
 ],
 "eventID": "ni:///sha-256;a72e50664090e58346b3c1e48f09699360768814c1010669babbc5780e09d704?ver=CBV2.0",
 "recordTime": "2026-11-01T23:00:00.000Z"
},
{
 "type": "TransformationEvent",
 "eventTime": "2026-11-01T13:00:00.000Z",
 "eventTimeZoneOffset": "+00:00",
 "bizStep": "commissioning",
 "disposition": "in_progress",
 "readPoint": {
  "id": "urn:uuid:df031649-9a8c-58f3-a6d6-f30145341258"
 },
 "bizLocation": {
  "id": "urn:uuid:df031649-9a8c-58f3-a6d6-f30145341258"
 },
 "inputQuantityList": [
  {
   "epcClass": "urn:uuid:6eadaa8a-6d17-5003-aa8f-9df6dc812c6e",
   "quantity": 40,
   "uom": "GRM"
  }
 ],
 "outputEPCList": [
  "urn:uuid:190a1fb3-7efc-5602-9d64-be346e8f9def",
  "urn:uuid:d3f586fd-8153-5a41-8de2-6db88dc25bbb"
 ],
 "eventID": "ni:///sha-256;8ad091a361d350d3d51fa8e06790a9d0923bc00bbe591b5034bb511c1a3be4be?ver=CBV2.0",
 "recordTime": "2026-11-01T13:00:00.000Z"
}
]
"""
)


@pytest.mark.parametrize("event", EVENTS, ids=["packs with their day, taken back", "a delivery", "a sowing"])
def test_an_events_id_is_that_of_the_reference(event: dict[str, Any]) -> None:
    assert event_id(event) == event["eventID"]
