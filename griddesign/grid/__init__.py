"""grid"""
