"""traction"""
