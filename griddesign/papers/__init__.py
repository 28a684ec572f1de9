"""papers"""
