"""The guided start: questions about a builder's own frame, and the commented job file that they make.

A question stands in the list where it is asked, its key in the table of job_text.py, and a box of that name
on the measuring sheet, sheets/pages/running/blank.py. Answers go to the draft as they come (draft.py); a job
that is there is opened by changing.py.
"""
