"""What lies in casks: at any moment, by age, by place, and which casks lose more than casks like them."""
