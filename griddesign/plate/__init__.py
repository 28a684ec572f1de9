"""plate"""
