"""A trace, or a month, as events of the open standard GS1 EPCIS 2.0 (ISO/IEC 19987), in JSON-LD."""
