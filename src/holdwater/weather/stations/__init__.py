"""Stations fetched over the network, and the store that keeps them."""
