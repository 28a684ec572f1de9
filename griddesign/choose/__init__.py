"""choose"""
