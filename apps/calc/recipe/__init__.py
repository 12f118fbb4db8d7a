"""Recipes for plant water without fish: a target, what is there, the salts at hand, the grams."""
