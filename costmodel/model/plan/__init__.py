"""The plan: the licensee's plant as an investment, quarter by quarter."""
