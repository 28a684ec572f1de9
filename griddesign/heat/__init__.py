"""heat"""
