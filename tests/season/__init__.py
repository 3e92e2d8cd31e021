"""Tests of the room that walks through the others."""
