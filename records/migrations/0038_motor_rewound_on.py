from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0037_an_exchanged_sensor_is_two_things'),
    ]

    operations = [
        migrations.AddField(
            model_name='motor',
            name='rewound_on',
            field=models.DateField(null=True),
        ),
    ]
