"""Rows to what a person or a script reads.  Pure: values in, text out; no database, no clock, no printing.

| module | makes |
|---|---|
| `text` | text that is safe and fits on a terminal: control characters out, widths, wrapping, ASCII fallback |
| `tables` | narrow tables and indented blocks |
| `rows` | the JSON contract (docs/json.md) |
| `listings` | the terminal reports: purchases, files, sellers, missing, questions, one item |
| `page` | the missing report as one self-contained HTML page |
| `calendar` | deadlines as an iCalendar file |
"""
