"""Sentences for people, made of codes and numbers."""
