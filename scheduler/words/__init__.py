"""All language: titles, descriptions and reasons, tables for people and records for programs."""
