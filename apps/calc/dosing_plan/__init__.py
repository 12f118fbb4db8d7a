"""Dosing plans: from a goal and the last readings to weighed steps over days, under the guards."""
