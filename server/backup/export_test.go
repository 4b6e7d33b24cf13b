package backup

func init() { workFactor = 10 }
