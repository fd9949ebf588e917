"""What each kind of entry does to the farm: a check and a change, one small module a subject.

`check_*` says what would be wrong or odd about an entry in the present state and changes nothing. `apply_*` changes the
state in place and is lenient: it does what can be done, for the record may arrive late and must not be lost. What it
leaves undone is named by a finding of the check.
"""
