// Package site tells an MQTT broker how the runs of this machine go, and hears from it how those of
// other machines do. The broker is the bus; nothing that comes from it moves a lamp.
//
// Below a root of the settings' choosing each machine has its topics:
//
//	ROOT/MACHINE/online    "online" or, by the broker's last will, "offline"; retained
//	ROOT/MACHINE/run       how its run stands, a page.Top as JSON; retained
//	ROOT/MACHINE/fixtures  how its fixtures stand, a list of Fixture as JSON; retained
//	ROOT/MACHINE/events    the entries of the run's journal as they come, as JSON; not retained
package site
