"""What could grow where and when: courses, picks, candidates, sowing windows."""
