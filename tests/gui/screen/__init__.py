"""What every part of the window claims to show, beside the field of the answer that it claims: read by a person's eye.

Every claim is built here anew, from the answer itself, so that a widget that shows another field, another day, another
unit, or the verdict of something else differs from its claim.
"""
