"""Reads and writes messages of HL7 version 2 by hl7apy and hl7, which know nothing of this project.

judge.py read FILE    prints what hl7apy and hl7 read of a message, and what hl7apy finds wrong with it
judge.py write        prints a message that hl7apy makes
"""
import json
import sys

import hl7
from hl7apy.consts import VALIDATION_LEVEL
from hl7apy.core import Message
from hl7apy.parser import parse_message


def results(message):
    """The OBX of a message, wherever hl7apy groups them."""
    found = []
    for child in message.children:
        if child.name == "OBX":
            found.append(child)
        elif child.classname == "Group":
            found += results(child)
    return found


def read(path):
    text = open(path, encoding="utf-8").read().replace("\n", "\r")
    message = parse_message(text, find_groups=True, validation_level=VALIDATION_LEVEL.TOLERANT)
    problems = []
    try:
        message.validate()
    except Exception as e:  # hl7apy raises one of several kinds for the first problem
        problems.append(f"{type(e).__name__}: {e}")
    parsed = hl7.parse(text)
    obx = [
        {
            "kind": o.obx_2.to_er7(), "code": o.obx_3.obx_3_1.to_er7(), "group": o.obx_4.to_er7(),
            "value": o.obx_5.to_er7(), "unit": o.obx_6.obx_6_1.to_er7(), "status": o.obx_11.to_er7(),
        }
        for o in results(message)
    ]
    print(json.dumps({
        "type": message.msh.msh_9.to_er7(), "version": message.version, "problems": problems, "obx": obx,
        "hl7": {"segments": len(parsed), "obx": len(parsed.segments("OBX")), "codes": [str(s[3][0][0]) for s in parsed.segments("OBX")]},
    }))


def write():
    m = Message("ORU_R01", version="2.7", validation_level=VALIDATION_LEVEL.STRICT)
    m.msh.msh_3, m.msh.msh_4, m.msh.msh_5, m.msh.msh_6 = "HL7APY", "CLINIC", "EVENREACH", "REHAB"
    m.msh.msh_7, m.msh.msh_9, m.msh.msh_10, m.msh.msh_11 = "20260309113000+0100", "ORU^R01^ORU_R01", "JUDGE1", "T"
    patient = m.add_group("ORU_R01_PATIENT_RESULT")
    patient.oru_r01_patient.pid.pid_3 = "DEMO-9^^^CLINIC^MR"
    patient.oru_r01_patient.pid.pid_5 = r"O\T\Neil^Ida"
    patient.oru_r01_patient.oru_r01_visit.pv1.pv1_2 = "O"
    patient.oru_r01_patient.oru_r01_visit.pv1.pv1_19 = "V9^^^CLINIC"
    order = patient.add_group("ORU_R01_ORDER_OBSERVATION")
    order.obr.obr_3, order.obr.obr_4, order.obr.obr_7 = "F9^LAB", "RECHECK^Re-check^99CLN", "20260309100000+0100"
    rows = [("CWE", "DX^Diagnosis^99CLN", "", ["414033006^Disorder of rotator cuff^SCT"], "", "91774008^^SCT")]
    for group, (side, values) in enumerate((("91774008", ("76", "78", "80")), ("91775009", ("99", "100", "101"))), 1):
        rows.append(("NM", "isometric-external-rotation-strength^^99EVR", str(group), list(values), "N^newton^UCUM", side + "^^SCT"))
        rows.append(("CWE", "arm-position^^99EVR", str(group), ["arm-at-side^^99EVR"], "", ""))
    for n, (kind, code, group, values, unit, site) in enumerate(rows, 1):
        obx = order.add_group("ORU_R01_OBSERVATION").obx
        obx.obx_1, obx.obx_2, obx.obx_3, obx.obx_11 = str(n), kind, code, "F"
        if group:
            obx.obx_4 = group
        for value in values:
            obx.add_field("OBX_5").value = value
        if unit:
            obx.obx_6 = unit
        if site:
            obx.obx_20 = site
    sys.stdout.write(m.to_er7())


if __name__ == "__main__":
    read(sys.argv[2]) if sys.argv[1] == "read" else write()
