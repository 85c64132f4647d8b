"""Tests of verification tasks."""
