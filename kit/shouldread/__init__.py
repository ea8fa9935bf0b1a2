"""What should this point read?"""
