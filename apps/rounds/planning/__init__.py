"""The planner of rounds: plain data in, plain data out; no framework, no database, no clock.

Times are whole seconds from the horizon's first local midnight on the date-based local clock: day
``d`` begins at ``d * 86400``. A change to or from summer time therefore moves nothing here; what is
planned becomes UTC above. Distances are whole metres, money is whole ten-thousandths of the
currency's unit.
"""
