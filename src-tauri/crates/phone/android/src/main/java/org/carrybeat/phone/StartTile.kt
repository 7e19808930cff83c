package org.carrybeat.phone

import android.content.Intent
import android.os.Build
import android.os.SystemClock
import android.service.quicksettings.Tile
import android.service.quicksettings.TileService

/** The tile of the quick settings: opens the app over the lock and asks for Start. */
class StartTile : TileService() {
    override fun onStartListening() {
        val tile = qsTile ?: return
        tile.state = if (Phone.of(this).isHeld) Tile.STATE_ACTIVE else Tile.STATE_INACTIVE
        tile.updateTile()
    }

    override fun onClick() {
        val now = SystemClock.elapsedRealtime()
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.UPSIDE_DOWN_CAKE) {
            startActivityAndCollapse(Begins.pending(this, now))
        } else {
            open(Begins.intent(this, now))
        }
    }

    @Suppress("DEPRECATION", "StartActivityAndCollapseDeprecated")
    private fun open(intent: Intent) = startActivityAndCollapse(intent)
}
