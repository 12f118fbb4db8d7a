"""Systems: loops, components and the flows between them."""
