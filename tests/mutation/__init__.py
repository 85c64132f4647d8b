"""Mutation testing of `calculations`: would a test notice if this piece of it were another one?"""
